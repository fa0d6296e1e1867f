"""The equations: one record each, by topic."""
