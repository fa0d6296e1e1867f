"""Figures: each returns a `Picture` with its text equivalent; the views update theirs in place."""
