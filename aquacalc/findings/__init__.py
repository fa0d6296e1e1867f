"""What a run means to the grower: each finding in plain words, with value, limit and what to change."""

from aquacalc.findings.record import Finding

__all__ = ["Finding"]
