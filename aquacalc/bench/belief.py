"""What is believed of the flow at which a siphon starts, or of that at which it no longer stops.

Both are one question: a flow below which the answer is "no" and above which it is "yes", known
at first only as a band. The answer may differ from flood to flood near that flow (scatter, itself not
known), the jug reads with an error, and now and then a trial is simply odd. All that is weighed on a
grid of the logarithm of the flow against the scatter, by Bayes' rule.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from scipy.special import entr, ndtr

#: Share of the cases in which a band holds the truth.
LEVEL = 0.9
#: Chance from which a single flood is called sure, one in twenty left.
SURE = 0.95
#: Chance that a trial says the opposite of what it should (a bell not seated, a jug misread): common
#: practice, no source.
ODD = 0.02
#: A factor on the flow outside the printed band, as a logarithm, that makes it half as likely; twice that
#: factor a fifth, and so on (as Cauchy's law falls): laws other than those in print may hold, and nobody
#: knows how far off they are.
OUTSIDE = 0.05
#: Step of the grid, in ln(flow), and how far it reaches beyond the printed band.
STEP, REACH = 0.02, 2.0
#: Scatter from flood to flood, as a standard deviation of ln(flow): values tried, each as likely as the
#: next before any trial, for no value was found in print (flat in its logarithm: Jeffreys 1946, from
#: memory).
SCATTERS = np.geomspace(0.01, 0.35, 11)


@dataclass(frozen=True)
class Answer:
    """One trial's answer to one question.

    Attributes
    ----------
    flow : float
        By the jug, m3/s.
    error : float
        Of that reading as a part of it; two readings in three are that close.
    above : bool
        Whether the trial says that the flow lies above the one looked for: it started, it ran on.
    """

    flow: float
    error: float
    above: bool


@dataclass(frozen=True)
class Belief:
    """What is believed after some trials.

    Attributes
    ----------
    low, high : float
        The band before any trial, m3/s.
    answers : tuple of Answer
        What the trials said.
    """

    low: float
    high: float
    answers: tuple[Answer, ...] = ()

    @cached_property
    def grid(self) -> np.ndarray:
        """Logarithms of the flows weighed, shape (n,)."""
        return np.arange(math.log(self.low) - REACH, math.log(self.high) + REACH, STEP)

    @property
    def weights(self) -> np.ndarray:
        """Weight of each flow and scatter, shape (n, scatters), together 1."""
        return _weights(self)

    def _says(self, answer: Answer) -> np.ndarray:
        """Chance of an answer, for each flow and scatter."""
        yes = self._above(math.log(answer.flow), answer.error)
        return yes if answer.above else 1.0 - yes

    def _above(self, at: float, error: float) -> np.ndarray:
        """Chance that a trial at ln(flow) `at` says "above", for each flow and scatter."""
        spread = np.hypot(SCATTERS, error)
        return ODD + (1.0 - 2.0 * ODD) * ndtr((at - self.grid)[:, None] / spread)

    @property
    def both_sides(self) -> bool:
        """Whether there are trials that say "above" and trials that say "below"."""
        return len({answer.above for answer in self.answers}) == 2

    def after(self, *answers: Answer) -> Belief:
        """Return what is believed after some more answers."""
        return replace(self, answers=(*self.answers, *answers))

    def band(self, level: float = LEVEL) -> tuple[float, float]:
        """Flows (m3/s) between which the one looked for lies in `level` of such cases.

        The one looked for is that at which the answer is "yes" as often as "no". Of all such bands it is
        the narrowest, as a factor.
        """
        edges = np.concatenate([self.grid - 0.5 * STEP, [self.grid[-1] + 0.5 * STEP]])
        below = np.concatenate([[0.0], np.cumsum(self.weights.sum(axis=1))])
        lows = np.linspace(0.0, 1.0 - level, 201)
        ends = np.interp([lows, lows + level], below, edges)
        low, high = ends[:, np.argmin(ends[1] - ends[0])]
        return math.exp(low), math.exp(high)

    def chance(self, flow: float) -> float:
        """Chance that the next flood at `flow` (m3/s, known exactly) lies above; odd trials left out."""
        if flow <= 0.0:
            return 0.0
        yes = ndtr((math.log(flow) - self.grid)[:, None] / SCATTERS)
        return float((self.weights * yes).sum())

    def any_flood(self, sure: float = SURE) -> tuple[float, float]:
        """Flows (m3/s) below which the next flood is "no" with chance `sure`, and above which it is "yes"."""
        from scipy.optimize import brentq

        ends = math.exp(self.grid[0]) / 3.0, math.exp(self.grid[-1]) * 3.0
        return tuple(brentq(lambda q, p=p: self.chance(q) - p, *ends, xtol=1e-9) for p in (1.0 - sure, sure))

    @property
    def scatter(self) -> float:
        """What is believed of the scatter: its middle value, as a part of the flow."""
        reached = np.cumsum(self.weights.sum(axis=0))
        return float(SCATTERS[np.searchsorted(reached, 0.5)])

    def tells(self, flow: float, error: float) -> float:
        """How much a trial at `flow` is expected to narrow the band, bits of information.

        Parameters
        ----------
        flow : float
            m3/s.
        error : float
            Of the jug, as a part of the flow.

        Returns
        -------
        float
            Mutual information between the answer and the flow looked for: 1 halves what is possible.
        """
        each = self.weights.sum(axis=1)
        yes = (self.weights * self._above(math.log(flow), error)).sum(axis=1)  # with the weight of each flow
        with np.errstate(invalid="ignore", divide="ignore"):
            share = np.where(each > 0.0, yes / each, 0.5)
        total = float(yes.sum())
        inside = float((each * (entr(share) + entr(1.0 - share))).sum())
        return float(entr(total) + entr(1.0 - total) - inside) / math.log(2.0)

    def odd(self, which: int) -> float:
        """Chance, by all other trials, that trial `which` came out as it did."""
        others = replace(self, answers=(*self.answers[:which], *self.answers[which + 1 :]))
        return float((others.weights * self._says(self.answers[which])).sum())


@lru_cache(maxsize=64)
def _weights(belief: Belief) -> np.ndarray:
    """Weigh flows and scatters: those before the last answer, times its chance."""
    grid, answers = belief.grid, belief.answers
    if answers:
        weights = _weights(replace(belief, answers=answers[:-1])) * belief._says(answers[-1])
    else:
        low, high = math.log(belief.low), math.log(belief.high)
        beyond = np.maximum(np.maximum(low - grid, grid - high), 0.0)
        weights = np.tile(1.0 / (1.0 + (beyond[:, None] / OUTSIDE) ** 2), len(SCATTERS))
    return weights / weights.sum()
