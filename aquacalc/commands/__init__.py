"""The commands of `python -m aquacalc`, one module each.

A module has `SUMMARY`, `arguments(parser)` and `run(args) -> int`, and imports
what it needs inside `run`, so that one command does not load another's.
"""
