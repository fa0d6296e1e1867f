"""Trials that do not fit each other: said, and never averaged away in silence."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc.bench.belief import Belief

#: A trial this near to a flow, as a factor, has tried it again.
NEAR = 1.1
#: Chance, by all other trials, below which a trial is called odd.
ODD = 0.1


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
    """

    yes: float
    no: float
    odd: float | None
    again: float | None


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
    chances = {n: belief.odd(n) for n in (low, high)}
    worst = min(chances, key=chances.__getitem__)
    alone = chances[worst] < ODD and max(chances.values()) > 2.0 * chances[worst]
    odd = belief.answers[worst].flow if alone else None
    again = odd if odd is not None else (a.flow * b.flow) ** 0.5
    pair = {worst} if alone else {low, high}
    others = (answer.flow for n, answer in enumerate(belief.answers) if n not in pair)
    if any(again / NEAR < flow < again * NEAR for flow in others):
        again = None
    return Contradiction(a.flow, b.flow, odd, again)
