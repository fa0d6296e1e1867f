"""What moves a drawing in a page."""
