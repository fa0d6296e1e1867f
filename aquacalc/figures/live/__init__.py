"""Figures that change a little at a time, written again quickly."""
