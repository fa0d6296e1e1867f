"""Trials that do not fit each other: said, and never averaged away in silence."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from aquacalc.bench.belief import Belief

#: A trial this near to a flow, as a factor, has tried it again.
NEAR = 1.1
#: Chance, by all other trials, below which a trial is called odd.
ODD = 0.1
#: The same by all that is in print, below which a trial speaks against it.
UNPRINTED = 0.05


@dataclass(frozen=True)
class Contradiction:
    """Two trials that tell opposite things.

    Attributes
    ----------
    yes, no : float
        The lowest flow that was "yes" (it started, it ran on) and the highest that was "no", m3/s.
    odd : float or None
        Flow of the trial of the two that the rest speak against, where they do.
    again : float or None
        Flow to try again, m3/s; None when that has been done.
    reversed : bool
        Whether every "yes" lies below every "no", several trials on one side: the wrong way round.
    """

    yes: float
    no: float
    odd: float | None
    again: float | None
    reversed: bool


def contradiction(belief: Belief) -> Contradiction | None:
    """Find the two trials that part most, or None when a single flow can explain all of them.

    Parameters
    ----------
    belief : Belief

    Returns
    -------
    Contradiction or None
    """
    yes = [n for n, a in enumerate(belief.answers) if a.above]
    no = [n for n, a in enumerate(belief.answers) if not a.above]
    if not yes or not no:
        return None
    low = min(yes, key=lambda n: belief.answers[n].flow)
    high = max(no, key=lambda n: belief.answers[n].flow)
    a, b = belief.answers[low], belief.answers[high]
    if math.log(b.flow / a.flow) <= math.hypot(a.error, b.error):
        return None  # the jug alone explains it
    flows = [answer.flow for answer in belief.answers]
    turned = min(len(yes), len(no)) > 1 and max(flows[n] for n in yes) < min(flows[n] for n in no)
    chances = {n: belief.odd(n) for n in (low, high)}
    worst = min(chances, key=chances.__getitem__)
    alone = not turned and chances[worst] < ODD and max(chances.values()) > 2.0 * chances[worst]
    odd = belief.answers[worst].flow if alone else None
    again = odd if odd is not None else b.flow if turned else (a.flow * b.flow) ** 0.5
    pair = {worst} if alone else {high} if turned else {low, high}
    if _near(again, (flow for n, flow in enumerate(flows) if n not in pair)):
        again = None
    return Contradiction(a.flow, b.flow, odd, again, turned)


def against_print(belief: Belief) -> tuple[float, ...]:
    """Return the flows (m3/s) of trials that say the opposite of all that is in print, lowest first."""
    found = []
    for answer in belief.answers:
        outside = answer.flow < belief.low if answer.above else answer.flow > belief.high
        if outside and replace(belief, answers=(answer,)).odd(0) < UNPRINTED:
            found.append(answer.flow)
    return tuple(sorted(found))


def again(belief: Belief) -> float | None:
    """Return the flow (m3/s) to try again because a trial fits no other, or nothing in print; or None."""
    found = contradiction(belief)
    if found is not None and found.again is not None:
        return found.again
    against = against_print(belief)
    if len(against) == 1:
        others = [answer.flow for answer in belief.answers]
        others.remove(against[0])
        if not _near(against[0], others):
            return against[0]
    return None


def _near(flow: float, others: Iterable[float]) -> bool:
    return any(flow / NEAR < other < flow * NEAR for other in others)
