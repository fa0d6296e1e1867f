"""The record of a finding, and the verdict that findings add up to."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

from aquacalc.units import KINDS, show

#: What a finding can come to, worst first. "watch" is a note on something that works.
STATES = ("does not", "may or may not", "watch", "good")
#: What a plan can come to, worst first.
VERDICTS = ("does not", "may or may not", "works")
#: Exit status of a command that runs a plan; 2 is for what could not be read or written.
EXIT_STATUS = {"works": 0, "does not": 1, "may or may not": 3}
#: Digits at which values count as equal.
MOST_DIGITS = 6
#: Values nearer to each other than this part of one are the same but for rounding.
SAME = 1e-6
#: What a ratio of areas counts.
TIMES = "times the bore"


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that a plan does well or badly, in plain words.

    Parameters
    ----------
    key : str
        Name for programs: "start", "stop", "sump_overflow" and so on.
    title : str
        What is found, in a few words.
    state : {"does not", "may or may not", "watch", "good"}
        "does not" and "may or may not" decide the verdict on the plan, "watch" is a note.
    subject : str
        Name of the bed, siphon, chamber, sump or pump meant.
    value, limit : float or None
        What it is and what it is held against, SI.
    direction : {"at most", "at least", ""}
        Side of the limit on which the value is good.
    band : tuple of (float, float), optional
        Between these two (SI) it may go either way.
    kind : str
        Key of `aquacalc.units.KINDS` for value, limit and band.
    cause : str
        Why, in the reader's units.
    change : str
        What to change; for "may or may not" first the one thing that would settle it. "" when good.
    wording : str
        What is written before the limit; the direction if it is "".
    counts : str
        What a plain number counts: "times the bore"; "" for a quantity with a unit.
    """

    key: str
    title: str
    state: str
    subject: str
    cause: str
    change: str = ""
    value: float | None = None
    limit: float | None = None
    direction: str = ""
    band: tuple[float, float] | None = None
    kind: str = "number"
    wording: str = ""
    counts: str = ""

    @property
    def margin(self) -> float | None:
        """Room between value and limit, SI; negative is what is short, None is no limit."""
        if self.value is None or self.limit is None or not self.direction:
            return None
        return self.limit - self.value if self.direction == "at most" else self.value - self.limit

    def shown(self, system: str) -> str:
        """Write limit and value in the units of `system`: "at least 30 mm; you have 56".

        A limit has two digits, more where fewer would hide on which side the value is.
        """
        if self.value is None:
            return ""
        counts = f" {self.counts}" if self.counts else ""
        if self.limit is None:
            return show(self.value, self.kind, system) + counts
        if self.state == "may or may not" and self.band is not None:
            low, high, value = told_apart((*self.band, self.value), self.kind, system)
            return f"may go either way between about {low} and {high}{counts}; you have {value}"
        if self.direction == "at least" and self.value < 0.0 <= self.limit and self.kind == "length":
            limit, short = (brief(x, self.kind, system) for x in (self.limit, -self.margin))
            return f"{self.wording or self.direction} {limit}; you are {short} short"
        limit, value = told_apart((self.limit, self.value), self.kind, system)
        return f"{self.wording or self.direction} {limit}{counts}; you have {value}"


def told_apart(values: tuple[float, ...], kind: str, system: str) -> list[str]:
    """Write values of one kind with as few digits, from two up, as keep each pair apart.

    Parameters
    ----------
    values : tuple of float
        SI; the last is what the grower has.
    kind : str
        Key of `aquacalc.units.KINDS`.
    system : {"metric", "us"}

    Returns
    -------
    list of str
        The unit of the last is left out where all have the same.
    """
    told = _digits(values, kind, system)
    units = [text.partition(" ")[2] for text in told]
    return [*told[:-1], told[-1].partition(" ")[0]] if len(set(units)) == 1 else told


def _digits(values: tuple[float, ...], kind: str, system: str) -> list[str]:
    if kind in ("elevation", "time"):
        return [show(value, kind, system) for value in values]
    # A flow is what the grower set or measured: the last value keeps a digit more.
    digits = [2 + (kind == "flow" and k == len(values) - 1) for k in range(len(values))]
    while True:
        told = [brief(v, kind, system, n) for v, n in zip(values, digits, strict=True)]
        if len({text.partition(" ")[2] for text in told}) > 1:
            return told
        numbers = [float(text.partition(" ")[0]) for text in told]
        close = {
            k
            for i, k in itertools.permutations(range(len(values)), 2)
            if abs(values[i] - values[k]) > SAME * abs(values[i])
            and (
                (values[i] < values[k]) != (numbers[i] < numbers[k])
                or (values[k] < values[i]) != (numbers[k] < numbers[i])
            )
        }
        if not close or max(digits) > MOST_DIGITS:
            return told
        digits = [n + (k in close) for k, n in enumerate(digits)]


def brief(value: float, kind: str, system: str, digits: int = 2) -> str:
    """Write an SI value with few digits and no zeros after the point: "18 L/min"."""
    number, _, unit = show(value, kind, system, digits).partition(" ")
    if "." in number and "e" not in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number} {unit}".rstrip()


def the(name: str) -> str:
    """Write a name as a sentence has it: "the siphon", but "siphon 1" and "bed 2"."""
    return f"the {name}" if name in ("siphon", "chamber", "sump", "pump", "bed") else name


def verdict(findings: Iterable[Finding]) -> str:
    """Return what the findings on a plan come to.

    Parameters
    ----------
    findings : iterable of Finding

    Returns
    -------
    {"works", "may or may not", "does not"}
        The worst finding decides; "watch" changes nothing.

    Examples
    --------
    >>> note = Finding(key="tail", title="Tail is drowned", state="watch", subject="siphon", cause="")
    >>> verdict([note])
    'works'
    """
    worst = min((STATES.index(finding.state) for finding in findings), default=len(STATES))
    return STATES[worst] if worst < 2 else "works"


def alike(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Put findings of one title and state together, the tightest first."""
    groups: dict[str, list[Finding]] = {}
    for finding in findings:
        groups.setdefault(f"{finding.state} {finding.title}", []).append(finding)
    return [
        sorted(found, key=lambda f: math.inf if f.margin is None else f.margin) for found in groups.values()
    ]


def also(findings: list[Finding], system: str) -> str:
    """Name the rest of those alike, with their values."""
    return "; ".join(
        f"{f.subject} ({f.shown(system)})" if f.value is not None else f.subject for f in findings
    )


class Findings(tuple):
    """All findings on a plan, worst first: a tuple that shows itself as a table."""

    __slots__ = ()

    def __repr__(self) -> str:
        """Say the verdict, and what speaks against the plan."""
        said = [f"{f.subject}: {f.title} ({f.state})" for f in self if f.state != STATES[-1]]
        return "\n".join([verdict(self), *said])

    def frame(self):
        """Return a pandas frame with a row for each; numbers in SI, with their unit beside them."""
        import pandas as pd

        names = ("state", "subject", "title", "value", "limit", "margin")
        rows = [{n: getattr(f, n) for n in names} | {"unit": KINDS[f.kind].si} for f in self]
        return pd.DataFrame(rows, columns=[*names, "unit"])

    def _repr_html_(self) -> str:
        return self.frame().to_html(index=False, float_format="{:.4g}".format)
