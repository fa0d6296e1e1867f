"""Where each part of a section and of the siphon's close-up is drawn, turned back into metres."""

import math

import numpy as np
import pytest

from aquacalc.figures.section import SectionView
from aquacalc.plan.model import Bed
from tests.figures.examples import NAMES, moments, plan_of, ran

pytestmark = pytest.mark.identity
#: A lip without a stated height of reducer is drawn this high, m.
STEP = 0.012


def polygons(artist):
    """Corners of each polygon of a patch."""
    path = artist.get_path()
    starts = [i for i, code in enumerate(path.codes) if code == path.MOVETO]
    parts = np.split(path.vertices, starts[1:])
    return [part for part in parts if len(part) > 1]


def has(found, corners):
    """Whether a polygon has exactly these corners, in any order, within 1e-6."""
    wanted = np.array(sorted(map(tuple, np.round(corners, 6))))
    for polygon in found:
        mine = np.array(sorted({tuple(p) for p in np.round(polygon, 6)}))
        if mine.shape == wanted.shape and np.allclose(mine, wanted, atol=2e-6):
            return True
    return False


def close_parts(view, siphon):
    """The close-up's pipes with x in metres from the siphon's middle."""
    close = view.close
    middle = close.placed.centre
    return [np.column_stack(((p[:, 0] - middle) / close.up, p[:, 1])) for p in polygons(close.pipes)]


@pytest.mark.parametrize("name", NAMES)
def test_close_up_of_each_siphon(name):
    plan = plan_of(name)
    for siphon in plan.siphons:
        view = SectionView(plan, siphon=siphon.name, scale=1.0)
        close, found = view.close, close_parts(view, siphon)
        stand, bell, floor = siphon.standpipe, siphon.bell, plan.vessel(siphon.host).floor
        bore, out = stand.pipe.bore / 2, stand.pipe.outside_diameter / 2
        lip, low = floor + stand.height, close.low
        wide, wall = stand.lip_diameter / 2, out - bore
        for side in (-1, 1):
            if stand.lip_diameter > stand.pipe.bore:  # the reducer widens upwards
                foot = lip - (stand.cone_length or STEP)
                corners = [
                    (bore, low),
                    (bore, foot),
                    (wide, lip),
                    (wide + wall, lip),
                    (out, foot),
                    (out, low),
                ]
            else:
                corners = [(bore, low), (bore, lip), (out, lip), (out, low)]
            assert has(found, [(side * x, z) for x, z in corners]), (siphon.name, side)
        half, inner = bell.outside_diameter / 2, bell.bore / 2
        rim, top = floor + bell.rim_height, floor + bell.top_height
        cap = top + max((half - inner) * close.up, 2.0) / close.up
        shell = [(half, rim), (half, cap), (inner, rim), (inner, top)]
        assert has(found, [(side * x, z) for x, z in shell for side in (-1, 1)]), siphon.name
        legs = {(round((s[0][0] - close.placed.centre) / close.up, 6), round(s[0][1], 6), round(s[1][1], 6))
                for s in close.openings.get_segments()}  # fmt: skip
        foot = max(rim - bell.opening_height, floor)
        assert legs == {
            (round(side * x, 6), round(foot, 6), round(rim, 6)) for x in (half, inner) for side in (-1, 1)
        }
        if siphon.media_guard:
            (guard,) = polygons(close.guard)
            assert np.ptp(guard[:, 0]) / close.up == pytest.approx(siphon.media_guard)
            assert guard[:, 1].min() == pytest.approx(floor)
        assert close.high > cap
        upright, *_ = close.dimension.get_segments()
        assert sorted(upright[:, 1]) == [pytest.approx(floor), pytest.approx(lip)]
        flood, _, at_lip = (segment[0][1] for segment in close.levels.get_segments())
        assert at_lip == pytest.approx(lip)
        assert lip < flood < lip + 0.1
        assert close.axes.get_ylim() == pytest.approx((close.low, close.high))


@pytest.mark.parametrize("name", NAMES)
def test_water_in_and_around_the_bell(name):
    run = ran(name)
    plan = run.plan
    for siphon in plan.siphons:
        view = SectionView(plan, siphon=siphon.name, scale=1.0)
        close, host = view.close, plan.vessel(siphon.host)
        bell, stand = siphon.bell, siphon.standpipe
        rim, crown = host.floor + bell.rim_height, host.floor + bell.top_height
        lip = host.floor + stand.height
        for t in moments(run):
            view.show(plan, run, t)
            k = max(np.searchsorted(run.trace.times, t, side="right") - 1, 0)
            regime = run.trace.regime[siphon.name][k]
            level = run.trace.level(siphon.host, t)
            middle = close.placed.centre
            inside = [
                np.column_stack(((p[:, 0] - middle) / close.up, p[:, 1])) for p in polygons(close.inner)
            ]
            if regime == "siphoning":  # full to the crown, and down the bore
                reach = crown
                bore = stand.pipe.bore / 2
                assert has(inside, [(x, z) for x in (-bore, bore) for z in (close.low, lip)]), t
            else:
                reach = min(level, crown)
            half = bell.bore / 2
            if reach > host.floor + 1e-6:
                assert has(inside, [(x, z) for x in (-half, half) for z in (host.floor, reach)]), t
            dry = [np.column_stack(((p[:, 0] - middle) / close.up, p[:, 1])) for p in polygons(close.inside)]
            assert has(dry, [(x, z) for x in (-half, half) for z in (rim, crown)])
            mouth = [(stand.pipe.bore / 2, lip - (stand.cone_length or STEP)), (stand.lip_diameter / 2, lip)]
            reducer = [(side * x, z) for x, z in mouth for side in (-1, 1)]
            assert has(dry, reducer) == (regime != "siphoning"), (t, regime)
            for segment in close.surface.get_segments():
                assert segment[:, 1] == pytest.approx(level)
                xs = np.abs(segment[:, 0] - middle) / close.up
                # Between bell and wall, or under the bell.
                outer = bell.outside_diameter / 2
                assert xs.min() >= outer - 1e-9 or xs == pytest.approx(half), t


@pytest.mark.parametrize("name", NAMES)
def test_pipes_of_the_section_begin_and_end_where_the_plan_has_them(name):
    plan = plan_of(name)
    view = SectionView(plan, scale=1.0)
    scene, frame = view.scene, view.scene.frame
    scale = min(frame.across, frame.up)
    tees = {tee.name: tee for tee in plan.tees}
    beside = {}
    for run in plan.runs:
        beside[run.to] = beside.get(run.to, 0) + (run.start not in tees)
    for run, line in zip(plan.runs, scene.lines, strict=False):
        (x0, z0), (x1, z1) = line.points[0], line.points[-1]
        half = run.pipe.bore / 2
        assert (line.outside, line.inside) == pytest.approx(
            (run.pipe.outside_diameter * scale, run.pipe.bore * scale)
        )
        if run.start in tees:
            assert z0 == pytest.approx(tees[run.start].elevation + half)
        else:
            bed, placed = plan.vessel(run.start), scene.placed[run.start]
            side = bed.outlet == "side"
            assert z0 == pytest.approx(bed.floor + (bed.outlet_height + half if side else 0.0))
            assert x0 == pytest.approx(placed.centre + (placed.half(z0) if side else 0.0))
        if run.to in tees:
            assert (x1, z1) == pytest.approx(scene.tees[run.to])
        else:
            into = scene.placed[run.to]
            assert x1 == pytest.approx(into.centre - into.half(z1))
            if beside[run.to] < 2:
                assert z1 == pytest.approx(run.outfall + half)
            else:  # drawn apart from those behind it, inside the vessel's wall
                assert into.vessel.floor < z1 < into.vessel.rim
    for siphon in plan.siphons:
        line = next(x for x in scene.lines if x.kind == "tail" and x.start == siphon.host)
        host, sump = scene.placed[siphon.host], scene.placed[plan.sump.name]
        assert line.points[0] == pytest.approx((host.centre, host.vessel.floor))
        assert line.points[-1][1] == pytest.approx(
            siphon.tail.outlet, abs=0.5 * siphon.tail.pipe.outside_diameter
        )
        assert sump.left < line.points[-1][0] < sump.right
        assert line.outside == pytest.approx(siphon.tail.pipe.outside_diameter * scale)
    delivery = next(x for x in scene.lines if x.kind == "delivery")
    rim = max(v.rim for v in (*plan.beds, *plan.chambers, plan.sump))
    header = max(rim + 0.04, plan.pump.delivery.outlet) if plan.pump.delivery else rim + 0.10
    assert delivery.points[1][1] == delivery.points[2][1] == pytest.approx(header)
    assert delivery.points[0][1] >= plan.sump.floor + plan.pump.intake - 1e-9
    fed = [bed for bed in plan.beds if bed.inflow_share > 0.0]
    assert [z for _, z in scene.drops] == [pytest.approx(bed.rim) for bed in fed]
    for (x, _), bed in zip(scene.drops, fed, strict=True):
        assert scene.placed[bed.name].left < x < scene.placed[bed.name].right


@pytest.mark.parametrize("name", NAMES)
def test_siphons_of_the_section(name):
    plan = plan_of(name)
    view = SectionView(plan, scale=1.0)
    scene, found = view.scene, polygons(view.siphons)
    across, up = scene.frame.across, scene.frame.up
    for siphon in plan.siphons:
        host, stand, bell = scene.placed[siphon.host], siphon.standpipe, siphon.bell
        floor, out = host.vessel.floor, stand.pipe.outside_diameter / 2 * across
        sides = (host.centre - out, host.centre + out)
        assert has(found, [(x, z) for x in sides for z in (floor, floor + stand.height)])
        half = bell.outside_diameter / 2 * across
        thick = max((bell.outside_diameter - bell.bore) / 2 * across, 1.0)
        rim, top = floor + bell.rim_height, floor + bell.top_height
        shell = [(half, rim), (half, top), (half - thick, rim), (half - thick, top - thick / up)]
        assert has(found, [(host.centre + side * x, z) for x, z in shell for side in (-1, 1)])
    media = polygons(view.media)
    for bed in plan.beds:
        top = bed.floor + bed.media.depth
        placed = scene.placed[bed.name]
        mine = [p for p in media if p[:, 0].min() >= placed.left - 1 and p[:, 0].max() <= placed.right + 1]
        assert any(
            (p[:, 1].min(), p[:, 1].max()) == (pytest.approx(bed.floor), pytest.approx(top)) for p in mine
        )
    for x, z in zip(*view.pebbles.get_data(), strict=True):
        inside = [
            p for p in scene.placed.values()
            if isinstance(p.vessel, Bed) and p.vessel.floor < z < p.vessel.floor + p.vessel.media.depth
            and abs(x - p.centre) <= p.half(z)
        ]  # fmt: skip
        assert inside, (x, z)
    assert math.isclose(view.axes.get_ylim()[0], scene.frame.low)
