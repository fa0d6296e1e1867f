"""The record of a finding."""

from __future__ import annotations

from dataclasses import dataclass

#: Verdicts, worst first.
VERDICTS = ("bad", "watch", "good")


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
        Why, in the plan's own units.
    change : str
        What to change; "" for a good finding.
    band : tuple of (float, float), optional
        Low and high end of a limit that is uncertain, SI.
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
