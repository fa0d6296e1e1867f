"""The record of a finding."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.units import show

#: Verdicts, worst first.
VERDICTS = ("bad", "watch", "good")
#: What a ratio of areas counts.
TIMES = "times the bore"


@dataclass(frozen=True)
class Finding:
    """One thing that a plan does well or badly, in plain words.

    Parameters
    ----------
    key : str
        Name for programs: "start", "stop", "sump_overflow" and so on.
    title : str
        What is found, in a few words.
    verdict : {"good", "watch", "bad"}
        "bad" means that the plan does not work as it stands.
    subject : str
        Name of the bed, siphon, chamber, sump or pump meant.
    value, limit, margin : float or None
        What it is, what it is held against, and what is in hand (negative: what is short), SI.
    kind : str
        Key of `aquacalc.units.KINDS` for the three.
    reason : str
        Why, in the units asked for.
    change : str
        What to change; "" for a good finding.
    band : tuple of (float, float), optional
        Low and high end of a limit that is uncertain, SI.
    counts : str
        What a plain number counts: "times the bore"; "" for a quantity with a unit.
    """

    key: str
    title: str
    verdict: str
    subject: str
    value: float | None
    limit: float | None
    margin: float | None
    kind: str
    reason: str
    change: str = ""
    band: tuple[float, float] | None = None
    counts: str = ""

    def shown(self, system: str) -> str:
        """Write value, limit, band and margin in the units of `system`; "" when there is no value."""
        if self.value is None:
            return ""
        parts = [f"{show(self.value, self.kind, system)} {self.counts}".rstrip()]
        if self.limit is not None:
            parts.append(f"limit {show(self.limit, self.kind, system)}")
        if self.band is not None:
            low, high = (show(x, self.kind, system) for x in self.band)
            parts.append(f"band {low} to {high}")
        if self.margin is not None:
            size = show(abs(self.margin), "length" if self.kind == "elevation" else self.kind, system)
            short = "over" if self.limit is not None and self.value > self.limit else "short"
            parts.append(f"{size} in hand" if self.margin >= 0.0 else f"{short} by {size}")
        return ", ".join(parts)
