"""Calculations for flood-and-drain grow beds that share a bell siphon."""

__version__ = "0.1.0"
