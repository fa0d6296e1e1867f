"""Whole cycles against the storm water simulator SWMM: times, levels, volumes; start and stop included.

How far the two may differ, by the differences named at the head of `tests.storm_twin`:

* SWMM acts at steps of 0.1 s and passes nothing below 0.03 mm of head: `MOMENT`
  in cycles of 350 to 1100 s, as much of each level's own movement, and `LEVEL`.
* A tee holds `SMALL` of water surface that is taken off the chamber. While
  water runs, the tee stands above the chamber by the head lost between them;
  that head times the surface of the tees is water in another place, which over
  the chamber's own surface is a difference of its level, and over the beds'
  one of theirs.
"""

import numpy as np
import pytest

from aquacalc.catalogue import data_dir
from aquacalc.equations.formulas import GRAVITY
from aquacalc.equations.mouth import MOUTH_LOSS
from aquacalc.hydraulics.levels import drained_sump_level, volume_at
from aquacalc.hydraulics.mouths import critical_depth
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan
from tests.storm_twin import SMALL, culvert_level, run_storm
from tests.test_system import LAYOUTS, our_events, their_events

NAMES = ("single", "series", "star", "inside-bed", "half-drums", "two-groups", "side-outlets", "pump-curve")
PLANS = {
    "greenhouse": data_dir() / "plans" / "greenhouse.toml",
    **{name: LAYOUTS / f"{name}.toml" for name in NAMES},
}
MOMENT = 0.5
LEVEL = 3e-4
#: The first second of a regime is not read: a chamber moves some mm in a step of SWMM there.
QUIET = 2.0


def phases(ours, theirs, name):
    """(start, start, length, end of it) of each regime, in our time and theirs."""
    found, start = [], (0.0, 0.0)
    for mine, other in zip(our_events(ours, name), their_events(theirs, name), strict=False):
        assert mine[1] == other[1]
        found.append((*start, min(mine[0] - start[0], other[0] - start[1]), mine[1]))
        start = mine[0], other[0]
    return found


def elsewhere(plan, ours, group):
    """Water (m3) that stands in the tees of a group instead of in its chamber, at most."""
    worst = 0.0
    tees = [n.name for n in ours.nodes if n.junction and n.group == group.name]
    for t in np.linspace(0.0, group.began + group.period, 3000):
        host = ours.trace.level(group.host, t)
        worst = max(worst, sum(SMALL * abs(ours.trace.level(tee, t) - host) for tee in tees))
    return worst


def filled(ours, cells, names, t):
    """Water (m3) in the vessels `names` at time `t`."""
    return sum(volume_at(cells[n], ours.trace.level(n, t)) for n in names)


@pytest.mark.outside
@pytest.mark.parametrize("name", PLANS)
def test_first_cycle(name, tmp_path):
    plan = read_plan(PLANS[name])
    ours = run_plan(plan)
    theirs = run_storm(plan, drained_sump_level(plan), tmp_path, breaks=1)
    vessels = {v.name: v for v in (*plan.beds, *plan.chambers)}
    cells = {v: vessel_cells(plan, vessels[v]) for v in vessels}
    for group in ours.groups:
        found = phases(ours, theirs, group.name)
        assert [what for *_, what in found] == ["choke", "full", "break"]
        moved = elsewhere(plan, ours, group)
        members = [n.name for n in ours.nodes if n.group == group.name and not n.junction]
        beds = [n for n in members if n != group.host] or members
        names = [n.name for n in ours.nodes if n.group == group.name]
        surface = {n: volume_at(cells[n], vessels[n].floor + 0.2) / 0.2 for n in members}
        for t_ours, t_theirs, length, what in found:
            # times
            assert t_theirs + length == pytest.approx(t_ours + length, abs=MOMENT)
            # levels
            for s in np.linspace(QUIET, length - QUIET, 60):
                for n in members:
                    share = surface[n] if n == group.host else sum(surface[b] for b in beds)
                    now, soon = (ours.trace.level(n, t_ours + s + d) for d in (0.0, MOMENT))
                    allowed = LEVEL + moved / share + abs(soon - now)
                    assert theirs.level(n, t_theirs + s) == pytest.approx(now, abs=allowed), (n, what, s)
            # volumes: what all vessels and tees of the siphon gained since the start
            end = length - 1.0
            stored = filled(ours, cells, members, t_ours + end) - filled(ours, cells, members, QUIET)
            held = theirs.volume(names, t_theirs + end) - theirs.volume(names, QUIET)
            flow = group.flow_break if what == "break" else group.inflow
            assert held == pytest.approx(stored, abs=MOMENT * flow), what


@pytest.mark.outside
@pytest.mark.parametrize("froude", [0.3, 0.4])
def test_mouths_against_culverts(froude, tmp_path):
    """SWMM 5.2's culverts, FHWA codes 1 (square edge) and 6 (thin wall that projects), in steady flow.

    Each stands nearer to its own kind of mouth than to the other. At lower flows SWMM's barrel decides.
    """
    bore = 0.3
    flow = froude * np.pi / 4 * bore**2 * np.sqrt(GRAVITY * bore)
    depth = critical_depth(flow, bore)
    angle = 2 * np.arccos(1 - 2 * depth / bore)
    area = bore**2 / 8 * (angle - np.sin(angle))
    flush, projecting = (depth + (1 + loss) * (flow / area) ** 2 / (2 * GRAVITY) for loss in MOUTH_LOSS)
    apart = 0.5 * (projecting - flush)
    assert culvert_level(bore, flow, 1, tmp_path) == pytest.approx(flush, abs=apart)
    assert culvert_level(bore, flow, 6, tmp_path) == pytest.approx(projecting, abs=apart)
