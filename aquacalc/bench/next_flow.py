"""Which flow to try next: the one that is expected to narrow most what is not known."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc.bench.belief import Belief
from aquacalc.bench.remarks import NEAR
from aquacalc.units import in_unit, read

#: Error expected of a jug that has not been read yet, as a part of the flow.
EXPECTED_ERROR = 0.03
#: Coarsest step between flows that are tried, as a part of the flow.
STEP = 0.05
#: A trial expected to tell less than this, bits, is not worth its ten minutes.
WORTH = 0.03


@dataclass(frozen=True)
class Next:
    """A trial worth making.

    Attributes
    ----------
    flow : float
        m3/s, a round number in the plan's units.
    start, stop : float
        Expected number of bits that it tells of where the siphon starts and stops; 1 halves what is
        possible.
    chance : float
        That it starts, as a ratio.
    retry : bool
        Whether it is tried again because trials do not fit each other.
    """

    flow: float
    start: float
    stop: float
    chance: float
    retry: bool

    @property
    def tells(self) -> float:
        """What it is expected to tell in all, bits."""
        return self.start + self.stop


def round_flows(low: float, high: float, system: str) -> list[float]:
    """Return round flows (m3/s) from `low` to `high` in the units of `system`, at most 5 % apart.

    Examples
    --------
    >>> [round(q * 60000, 3) for q in round_flows(9.9 / 60000, 11.2 / 60000, "metric")]
    [10.0, 10.5, 11.0]
    """
    a, unit = in_unit(low, "flow", system)
    b, _ = in_unit(high, "flow", system)
    found: list[float] = []
    number = a
    while True:
        rough = STEP * number
        power = 10.0 ** math.floor(math.log10(rough))
        step = next(x * power for x in (5, 2, 1) if x * power <= rough * (1.0 + 1e-9))
        at = math.ceil(number / step - 1e-9) * step
        if at > b * (1.0 + 1e-9):
            return found
        found.append(read(f"{at:.6g} {unit}", "flow"))
        number = at * (1.0 + 1e-6) + 1e-9 * step


def next_flow(
    start: Belief | None,
    stop: Belief | None,
    runs: Belief,
    system: str,
    most: float,
    again: float | None = None,
) -> Next:
    """Find the flow to try next: the one that is expected to tell most, or one that has to be tried again.

    Parameters
    ----------
    start, stop : Belief or None
        What is believed of where it starts and where it no longer stops; None of what is not asked.
    runs : Belief
        Of where it starts, asked or not: a siphon that does not start cannot show how it stops.
    system : {"metric", "us"}
        Units in which the flow is a round number.
    most : float
        Largest flow that can be made, m3/s.
    again : float, optional
        Flow of a trial that fits no other, m3/s.

    Returns
    -------
    Next
    """
    ends = [belief.band(0.98) for belief in (start, stop) if belief is not None]
    high = min(max(high for _, high in ends), most)
    low = min(min(low for low, _ in ends), high / 1.2)
    retry = again is not None and again <= most
    if retry:
        flows = round_flows(again / NEAR, again * NEAR, system)
        flows = [min(flows, key=lambda flow: abs(math.log(flow / again)))]
    else:
        flows = round_flows(low, high, system)
    tried = []
    for flow in flows:
        chance = runs.chance(flow)
        told = start.tells(flow, EXPECTED_ERROR) if start is not None else 0.0
        stops = stop.tells(flow, EXPECTED_ERROR) * chance if stop is not None else 0.0
        tried.append(Next(flow, told, stops, chance, retry))
    return max(tried, key=lambda trial: trial.tells)
