"""An answer to "what should I build": the exact value, the real size, what limits it, and why."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from aquacalc import units
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Plan, Siphon

#: What a saw and a tape, or a jug and a valve, can be held to: kind -> {system: (whole number of, unit)}.
MARKS = {
    "length": {"metric": (Fraction(1), "mm"), "us": (Fraction(1, 16), "in")},
    "vessel": {"metric": (Fraction(10), "mm"), "us": (Fraction(1, 2), "in")},
    "flow": {"metric": (Fraction(1, 10), "L/min"), "us": (Fraction(1, 20), "gpm")},
}


@dataclass(frozen=True)
class Limit:
    """One thing that bounds the value asked for.

    Attributes
    ----------
    name : str
        "the pump stays covered".
    bound : float
        Value at which it is met exactly, SI; inf or -inf when it bounds
        nothing in the range tried, or cannot be met there.
    most : bool
        True when the value may be at most `bound`, False when at least.
    reason : str
        Why, with numbers.
    """

    name: str
    bound: float
    most: bool
    reason: str = ""

    @property
    def idle(self) -> bool:
        """Whether it bounds nothing in the range tried."""
        return self.bound == (math.inf if self.most else -math.inf)

    @property
    def hopeless(self) -> bool:
        """Whether no value in the range tried meets it."""
        return self.bound == (-math.inf if self.most else math.inf)

    def text(self, kind: str, system: str) -> str:
        """Say what it asks for."""
        if self.idle:
            said = "no limit here"
        elif self.hopeless:
            said = "no value tried meets it"
        else:
            said = f"at {'most' if self.most else 'least'} {units.show(self.bound, kind, system)}"
        return f"{self.name}: {said}" + (f" ({self.reason})" if self.reason else "")


@dataclass(frozen=True, repr=False)
class Answer:
    """What to build.

    Attributes
    ----------
    question : str
    kind : str
        Key of `aquacalc.units.KINDS` of `exact`, `real` and the limits' bounds.
    system : {"metric", "us"}
    limits : tuple of Limit
    binding : str
        Name of the limit that decides.
    conflict : str
        Which limits conflict, when there is no answer, or no real size; else "".
    exact : float or None
        The exact value, SI; None when there is no answer.
    real : float or None
        The value in sizes there are, SI; None when there is none.
    real_text : str
        That size as it is bought or cut: "1-1/4 in".
    steps : tuple of str
        The reasoning, a sentence each.
    worked : tuple of (str, dict, str or None)
        Worked calculations: equation key, SI values by symbol, symbol solved for.
    plan : Plan or None
        The plan with the real size put in.
    """

    question: str
    kind: str
    system: str
    limits: tuple[Limit, ...] = ()
    binding: str = ""
    conflict: str = ""
    exact: float | None = None
    real: float | None = None
    real_text: str = ""
    steps: tuple[str, ...] = ()
    worked: tuple[tuple[str, dict[str, float], str | None], ...] = ()
    plan: Plan | None = None

    def __repr__(self) -> str:
        """Give the whole answer in plain words."""
        return self.text

    @property
    def text(self) -> str:
        """The whole answer in plain words, a line each."""
        lines = [self.question]
        if self.exact is not None:
            lines.append(f"Exactly: {units.show(self.exact, self.kind, self.system)}.")
        if self.real is not None:
            lines.append(f"In sizes you can buy or cut: {self.real_text}.")
        if self.conflict:
            lines.append(f"No answer: {self.conflict}" if self.exact is None else self.conflict)
        if self.binding:
            lines.append(f"What limits it: {self.binding}.")
        lines += [f"- {limit.text(self.kind, self.system)}" for limit in self.limits]
        return "\n".join([*lines, *self.steps])


def bound(margin: Callable[[float], float], low: float, high: float, most: bool, tolerance: float) -> float:
    """Return where a monotone `margin` crosses 0 between `low` and `high`.

    Parameters
    ----------
    margin : callable
        What is left at a value; falling when `most`, else rising.
    low, high : float
        Range to look in, in the unit of the value asked for.
    most : bool
        Whether the margin is kept below the crossing (True) or above it.
    tolerance : float
        How close the crossing is found, in the same unit.

    Returns
    -------
    float
        The crossing; inf or -inf as `Limit.bound` has it when there is none.
    """
    from scipy.optimize import brentq

    at_low, at_high = margin(low), margin(high)
    kept, lost = (at_low, at_high) if most else (at_high, at_low)
    if lost >= 0.0:
        return math.inf if most else -math.inf
    if kept < 0.0:
        return -math.inf if most else math.inf
    return brentq(margin, low, high, xtol=tolerance, rtol=1e-12)


def conflict_of(limits: tuple[Limit, ...], kind: str, system: str) -> str:
    """Say which limits leave no value, or "" when they leave one."""
    hopeless = [limit for limit in limits if limit.hopeless]
    least = max((x for x in limits if not x.most), key=lambda x: x.bound, default=None)
    most = min((x for x in limits if x.most), key=lambda x: x.bound, default=None)
    if hopeless:
        other = most if not hopeless[0].most else least
        said = [*hopeless, *([other] if other and other not in hopeless else [])]
        return "; ".join(limit.text(kind, system) for limit in said) + "."
    if least is None or most is None or least.bound <= most.bound:
        return ""
    return f"{least.text(kind, system)}, but {most.text(kind, system)}."


def deciding(limits: tuple[Limit, ...], most: bool) -> Limit:
    """Return the limit that bounds the largest (`most`) or the smallest value."""
    sides = [limit for limit in limits if limit.most is most]
    return min(sides, key=lambda x: x.bound) if most else max(sides, key=lambda x: x.bound)


def to_mark(value: float, mark: str, system: str, up: bool) -> tuple[float, str]:
    """Round an SI value to what can be cut or set, up or down; the value (SI) and its text."""
    step, unit = MARKS[mark][system]
    number, _ = units.in_unit(value, "flow" if mark == "flow" else "length", system, unit)
    count = number / float(step)
    whole = math.ceil(count - 1e-9) if up else math.floor(count + 1e-9)
    text = _mark_text(whole * step, unit)
    return units.read(text, "flow" if mark == "flow" else "length"), text


def _mark_text(number: Fraction, unit: str) -> str:
    """Write a number of marks: "425 mm", "16 9/16 in", "18.5 L/min"."""
    if unit != "in" or number.denominator == 1:
        return f"{float(number):g} {unit}"
    whole, part = divmod(number, 1)
    return f"{whole} {part} {unit}" if whole else f"{part} {unit}"


def checked(plan: Plan) -> tuple[Plan | None, tuple[str, ...]]:
    """Return the plan if it can be built, else None and the reason as a step."""
    try:
        check_plan(plan, "the plan with this answer")
    except PlanError as error:
        return None, (f"The rest of the plan has to follow: {error}",)
    return plan, ()


def positive(**values: float) -> None:
    """Refuse `values` (in any unit) that are not above 0 and finite.

    Raises
    ------
    ValueError
        Naming the value.
    """
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} = {value:g}: give a number above 0, in SI units")


def the_siphon(plan: Plan, name: str | None) -> Siphon:
    """Return the siphon called `name`, or the only one.

    Raises
    ------
    ValueError
        When there is none of that name, or several and no name.
    """
    known = ", ".join(f'"{s.name}"' for s in plan.siphons)
    if name is None and len(plan.siphons) > 1:
        raise ValueError(f"the plan has several siphons; say which of {known}")
    for siphon in plan.siphons:
        if name in (None, siphon.name):
            return siphon
    raise ValueError(f'there is no siphon "{name}"; write one of {known}')


def shower(system: str) -> Callable[..., str]:
    """Return `units.show` for one system of units."""

    def show(value: float, kind: str = "length", **more: Any) -> str:
        return units.show(value, kind, system, **more)

    return show
