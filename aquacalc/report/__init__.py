"""The report: what a plan does, as content, and that content as text, JSON and a page."""
