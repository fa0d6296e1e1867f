"""What runs under a lip: the tail full of water, or open with air down it.

Nobody can say for every pipe which of the two holds, so it is asked of three
laws: an easy one, by which a tail fills and stays full if it can at all, a
hard one, by which it does only where it must, and one between them. A Froude
number is that of the flow on the tail's whole bore. Where more falls into an
open tail than it carries full, it backs up and is full by any law.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc.equations.formulas import GRAVITY, choking_flow, froude_bore, water_kinematic_viscosity
from aquacalc.equations.priming import bubble_rise
from aquacalc.equations.running_full import cavity_speed, clearing_velocity
from aquacalc.hydraulics.paths import Piece, foot, siphon_path
from aquacalc.hydraulics.siphon import path_flow, siphon_flow
from aquacalc.plan.model import Plan, Siphon

#: Froude numbers of the open flow above which a tail fills (Hills, Simpson: the starting band's own).
FILLS = {"easy": 0.3, "middle": 0.55, "hard": 1.0}
#: The same where its end is under water, so that only old air has to go.
FILLS_DROWNED = {"easy": 0.3, "middle": 0.55, "hard": 1.1}
LAWS = ("easy", "middle", "hard")


@dataclass(frozen=True)
class Tail:
    """Limits of one law for the tail of one siphon.

    Attributes
    ----------
    law : {"easy", "middle", "hard"}
    fills, fills_drowned : float
        Open flow (m3/s) above which the tail fills, its end free and under water.
    stays : float
        Full flow (m3/s) above which it stays full while its end is free.
    foot : float
        Elevation (m) to which the open flow falls.
    """

    law: str
    fills: float
    fills_drowned: float
    stays: float
    foot: float


def has_level_part(plan: Plan, siphon: Siphon) -> bool:
    """Whether the tail is longer than its fall by more than two bores, so that some of it lies level."""
    tail = siphon.tail
    return tail.length - (plan.vessel(siphon.host).floor - tail.end) > 2.0 * tail.pipe.bore


def tail_law(plan: Plan, siphon: Siphon, law: str) -> Tail:
    """Return the limits of one `law` for a siphon's tail."""
    D = siphon.tail.pipe.bore
    # Air comes up an upright pipe as a long bubble and into a level one as a cavity.
    slow = cavity_speed(1.0, 1.0) if has_level_part(plan, siphon) else bubble_rise(1.0, 1.0)
    fast = clearing_velocity(1.0, 90.0, 1.0)
    stays = {"easy": slow, "middle": 0.5 * (slow + fast), "hard": fast}[law]
    return Tail(
        law,
        choking_flow(FILLS[law], D, GRAVITY),
        choking_flow(FILLS_DROWNED[law], D, GRAVITY),
        choking_flow(stays, D, GRAVITY),
        foot(plan, siphon),
    )


def open_path(plan: Plan, siphon: Siphon) -> list[Piece]:
    """Pieces from the water outside the bell to the standpipe's foot, where it falls into an open tail."""
    *pieces, _ = siphon_path(plan, siphon)
    stand = pieces[-1]
    end = Piece("fall into the tail", stand.area, stand.diameter, 0.0, 0.0, 1.0)
    return [*pieces, end]


def open_flow(plan: Plan, siphon: Siphon, level: float, sump: float) -> float:
    """Flow (m3/s) with the standpipe full and air down the tail, water at `level`, the sump at `sump` (m)."""
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    return path_flow(open_path(plan, siphon), level - max(foot(plan, siphon), sump), viscosity)


def backs_up(plan: Plan, siphon: Siphon, level: float, sump: float) -> bool:
    """Whether more falls into an open tail than it carries full; water at `level`, sump at `sump`, m."""
    return open_flow(plan, siphon, level, sump) >= siphon_flow(plan, siphon, level, sump)


def fills(plan: Plan, siphon: Siphon, law: str, drowned: bool) -> bool:
    """Whether the tail fills when the siphon starts, by one law, its end under water (`drowned`) or free."""
    limits = tail_law(plan, siphon, law)
    lip, end = plan.lip_level(siphon), siphon.tail.end
    least = limits.fills_drowned if drowned else limits.fills
    return open_flow(plan, siphon, lip, end) > least or backs_up(plan, siphon, lip, end)


def opens_at(plan: Plan, siphon: Siphon, law: str) -> float:
    """Level (m) below which a full tail lets air in at its free end, by one law; no less than its end.

    It stays full above the lower of two levels: where its full flow is as fast as the law asks, and
    where the open flow is the full one. There the full path loses more than the open one by as much as
    the foot lies above the end, so both are found without asking for the flow at any level.
    """
    viscosity = water_kinematic_viscosity(plan.water_temperature)

    def loss(path: list[Piece], flow: float) -> float:
        return sum(piece.loss(flow, viscosity) for piece in path)

    full, free, end = siphon_path(plan, siphon), open_path(plan, siphon), siphon.tail.end
    stays = tail_law(plan, siphon, law).stays
    level = min(plan.lip_level(siphon), end + loss(full, stays))
    fall = max(foot(plan, siphon) - end, 0.0)
    flow = stays
    for _ in range(30):
        more = loss(full, flow) - loss(free, flow)
        if more <= 0.0:  # whatever falls down an open tail, a full one carries more
            return level
        if fall <= 0.0:  # whatever comes fills a tail that rises from its foot
            return end
        before, flow = flow, flow * math.sqrt(fall / more)
        if abs(flow - before) <= 1e-12 * before:
            break
    return min(level, end + fall + loss(free, flow))


def is_full(plan: Plan, siphon: Siphon, law: str, level: float, sumps: tuple[float, float]) -> bool:
    """Whether the tail is full with the water down at `level` (m), by one law.

    `sumps` are the sump's levels (m) when the siphon starts and now.
    """
    end = siphon.tail.end
    if not fills(plan, siphon, law, sumps[0] > end):
        return False
    if sumps[1] > end:
        return True
    full = siphon_flow(plan, siphon, level, sumps[1])
    return full > tail_law(plan, siphon, law).stays or backs_up(plan, siphon, level, sumps[1])


def running_flow(plan: Plan, siphon: Siphon, law: str, level: float, sumps: tuple[float, float]) -> float:
    """Flow (m3/s) of a siphon that runs, with the water down at `level` (m), by one law.

    `sumps` are the sump's levels (m) when it started and now.
    """
    if is_full(plan, siphon, law, level, sumps):
        return siphon_flow(plan, siphon, level, sumps[1])
    return open_flow(plan, siphon, level, sumps[1])


def tail_froude(plan: Plan, siphon: Siphon, level: float, sump: float) -> float:
    """Froude number of the full flow in the tail, water at `level`, the sump at `sump` (m)."""
    return froude_bore(siphon_flow(plan, siphon, level, sump), siphon.tail.pipe.bore, GRAVITY)
