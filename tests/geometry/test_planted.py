"""Plans with one planted fault each, found with place and mend; the same mended, silent."""

import math
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.design.change import built
from aquacalc.design.mends import MENDS
from aquacalc.design.start import plan_text
from aquacalc.findings import find
from aquacalc.findings.building import MOST_NAMED, find_building
from aquacalc.findings.building_words import WORDS
from aquacalc.geometry.contacts import contacts
from aquacalc.geometry.placed import Line, Standing
from aquacalc.geometry.space import space
from aquacalc.plan import edit, plan_from_text, write_plan
from aquacalc.plan.model import Pipe
from aquacalc.plan.shapes.tapered import Tapered
from aquacalc.results.cycle import run_plan

pytestmark = pytest.mark.identity
DEMO = (data_dir() / "plans" / "greenhouse.toml").read_text(encoding="utf-8")
FIRST_RUN = 'length = "1.44 m"\nfittings = ["entrance, square", "bend 90, short", "tee, in line"]'
LAST_RUN = 'length = "0.80 m"\nfittings = [{ fitting = "two 45s", spacing = "80 mm" }, "exit"]'
BENDS = '"bend 90, short", "bend 90, short", "bend 90, short", "bend 90, short"'
TAIL = 'fittings = ["bend 90, short", "bend 90, short", "exit"]\noutlet = "0.320 m"'
CHAMBER = 'name = "chamber"\nshape = "round"\ndiameter = "250 mm"'
SLOTS = 'kind = "slots", count = 28, width = "3 mm", length = "25 mm"'


@dataclass(frozen=True)
class Planted:
    """What is put in place of what, once; the finding's key, state and place; what mends it."""

    fault: tuple[tuple[str, str], ...]
    key: str
    state: str
    place: str
    mend: tuple[tuple[str, str], ...] = ()


PLANTED = {
    "two 45s closer than their sockets, on a way that is derived": Planted(
        ((' spacing = "80 mm"', ' spacing = "70 mm"'),), "piece_short", "watch", "tee 3 to chamber"),
    "a bend nearer to the floor than wall, seal and socket, on a way that is given": Planted(
        (('floor = "0.700 m"', 'floor = "0.680 m"'),
         (FIRST_RUN, FIRST_RUN.replace("1.44", "1.42") + '\nlegs = ["down 70 mm", "along 1350 mm"]')),
        "piece_short", "does not", "bed 1 to tee 2",
        ((FIRST_RUN, FIRST_RUN + '\nlegs = ["down 90 mm", "along 1350 mm"]'),)),
    "a tail that has no room to turn": Planted(
        (('outlet = "0.320 m"', 'outlet = "0.440 m"'),), "piece_short", "watch", "siphon"),
    "a tee 17 mm under the next": Planted(
        (('elevation = "0.590 m"', 'elevation = "0.563 m"'), ('length = "90 mm"', 'length = "117 mm"')),
        "line_climbs", "may or may not", "tee 2 to tee 3"),
    "an outfall over the tee before it": Planted(
        (('outfall = "0.560 m"', 'outfall = "0.630 m"'),), "line_climbs", "does not", "tee 3 to chamber"),
    "a level line that falls 55 mm": Planted(
        (('outfall = "0.560 m"', 'outfall = "0.525 m"'),
         ('{ fitting = "two 45s", spacing = "80 mm" }', '"bend 90, swept"')),
        "line_steep", "watch", "tee 3 to chamber",
        (('outfall = "0.560 m"', 'outfall = "0.525 m"'),)),  # two 45s are rolled, and take it
    "a crest in a line": Planted(
        ((LAST_RUN, 'legs = ["along 300 mm", "up 60 mm", "along 300 mm", "down 80 mm", "along 60 mm"]\n'
          f'length = "0.80 m"\nfittings = [{BENDS}, "exit"]'),),
        "line_crest", "does not", "tee 3 to chamber",
        ((LAST_RUN, 'legs = ["along 360 mm falling 20 mm", "left 440 mm"]\n'
          'length = "0.80 m"\nfittings = ["bend 90, short", "exit"]'),)),
    "a tail through the sump's wall without a hole": Planted(
        ((TAIL, 'fittings = ["bend 90, short", "exit"]\noutlet = "0.250 m"'),), "tail_wall", "watch", "tail",
        ((TAIL, 'fittings = ["bend 90, short", "exit"]\noutlet = "0.250 m"\nenters = "through the wall"'),)),
    "a side outlet whose hole reaches into the floor": Planted(
        (('outlet = "floor"', 'outlet = "side"\noutlet_height = "5 mm"'),), "hole_edge", "does not", "bed 1",
        (('outlet = "floor"', 'outlet = "side"\noutlet_height = "30 mm"'),
         (FIRST_RUN, FIRST_RUN.replace('"bend 90, short"', '"2 x bend 90, short"')))),
    "an inlet whose hole reaches into the chamber's floor": Planted(
        (('outfall = "0.560 m"', 'outfall = "0.512 m"'),), "hole_edge", "does not", "chamber: inlet"),
    "a hole on a rib": Planted(
        (('supports = 4', 'supports = 4\nribs = ["300 mm", "600 mm", "900 mm"]'),),
        "hole_rib", "does not", "bed 1",
        (('supports = 4', 'supports = 4\nribs = ["300 mm", "600 mm", "900 mm"]\noutlet_along = "450 mm"'),)),
    "a pipe that no list of holes has": Planted(
        (('series = "ASTM D1785 schedule 40"\nsize = "1-1/2 in"\nlength = "0.80 m"',
          'series = "own"\nsize = "by hand"\nbore = "41 mm"\noutside_diameter = "48 mm"\n'
          'roughness = "0.002 mm"\nlength = "0.80 m"'),), "hole_size", "watch", "chamber: inlet"),
    "a chamber too narrow for the bell and a hand": Planted(
        ((CHAMBER, CHAMBER.replace("250 mm", "110 mm")),), "bell_room", "does not", "siphon"),
    "a shelf over the chamber": Planted(
        ((CHAMBER, CHAMBER + '\nheadroom = "200 mm"'),), "bell_lift", "does not", "siphon",
        ((CHAMBER, CHAMBER + '\nheadroom = "600 mm"'),)),
    "a wall too thin for a seal": Planted(
        (('supports = 4', 'supports = 4\nwall = "1 mm"'),), "seal_wall", "does not", "bed 1",
        (('supports = 4', 'supports = 4\nwall = "5 mm"'),)),
    "a tank fitting on a narrow round wall": Planted(
        ((CHAMBER, CHAMBER.replace("250 mm", "150 mm") + '\nseal = "tank fitting"'),),
        "seal_curve", "does not", "chamber",
        ((CHAMBER, CHAMBER + '\nseal = "rubber pipe seal"'),)),
    "a chamber put where a bed stands": Planted(
        (('name = "bed 3"', 'name = "bed 3"\nx = "0 m"\ny = "0 m"'),
         (CHAMBER, CHAMBER + '\nx = "0.65 m"\ny = "0 m"')),
        "overlap", "does not", "chamber and bed 3",
        (('name = "bed 3"', 'name = "bed 3"\nx = "0 m"\ny = "0 m"'),
         (CHAMBER, CHAMBER + '\nx = "0.93 m"\ny = "0 m"'))),
    "a sump put where a drain line lies": Planted(
        (('floor = "-0.400 m"', 'floor = "-0.060 m"\nx = "-0.4 m"\ny = "0 m"'),),
        "overlap", "watch", "layout",
        (('floor = "-0.400 m"', 'floor = "-0.400 m"\nx = "0.8 m"\ny = "0 m"'),)),
    "an outlet beside the wall": Planted(
        (('supports = 4', 'supports = 4\noutlet_across = "35 mm"'),), "hole_edge", "does not", "bed 1",
        (('supports = 4', 'supports = 4\noutlet_across = "60 mm"'),)),
    "a coupling that keeps 64 mm of water": Planted(
        ((SLOTS, SLOTS + ', fixing = "in a coupling"'),), "sill", "may or may not", "bed 1"),
    "a guard round the outlet that reaches into the wall": Planted(
        ((SLOTS, SLOTS + ', fixing = "media guard"'),
         ('supports = 4', 'supports = 4\noutlet_across = "52 mm"')),
        "strainer_wall", "does not", "bed 1",
        ((SLOTS, SLOTS + ', fixing = "over the outlet"'),
         ('supports = 4', 'supports = 4\noutlet_across = "52 mm"'))),
    "a strainer taller than its bed": Planted(
        ((SLOTS, SLOTS.replace("28", "150")),), "strainer_tall", "watch", "bed 1"),
    "an outlet that stands above the flood": Planted(
        (('floor = "0.700 m"', 'floor = "0.925 m"'), ('length = "1.44 m"', 'length = "1.67 m"')),
        "sill", "does not", "bed 1"),
}  # fmt: skip


def plan_of(edits):
    text = DEMO
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    return plan_from_text(text)


def judged(edits):
    return [f for f in find(run_plan(plan_of(edits), trace=False)) if f.key in WORDS]


def test_twenty_are_planted():
    assert len(PLANTED) >= 20


@pytest.mark.parametrize("name", PLANTED)
def test_planted(name):
    planted = PLANTED[name]
    hits = [f for f in judged(planted.fault) if f.key == planted.key and f.state == planted.state]
    assert hits, f"not found: {planted.key}, {planted.state}"
    assert any(planted.place in f.subject for f in hits), [f.subject for f in hits]
    for f in hits:
        assert f.key != "overlap" or (f.limit == 0.0 < f.value), f.subject
        assert f.change
        assert f.cause


#: What no edit of a plan mends: the finding says what to do with the hands.
BY_HAND = {"hole_size", "seal_wall", "bell_lift"}
#: Faults whose mend is more than one change, or a change of the plan's shape.
LARGER = {"an outlet that stands above the flood", "a sump put where a drain line lies"}


@pytest.mark.parametrize("name", PLANTED)
def test_a_mend_is_offered(name):
    """Each geometry finding has changes to try, and the first that can be built takes the fault away."""
    planted = PLANTED[name]
    if planted.key in BY_HAND:
        assert planted.key not in MENDS
        return
    run = run_plan(plan_of(planted.fault), trace=False)
    faults = [f for f in find(run) if f.key == planted.key and f.state == planted.state]
    hit = next(f for f in faults if planted.place in f.subject)
    changes = list(MENDS[hit.key](run, hit))
    mended = []
    for change in changes:
        plan = built(run.plan, change.values)
        after = find_building(plan) if plan else [hit]
        mended.append(all((f.key, f.subject, f.state) != (hit.key, hit.subject, hit.state) for f in after))
    assert any(mended) or name in LARGER, [c.words for c in changes]


@pytest.mark.parametrize(
    ("name", "bed"),
    [
        ("a hole on a rib", "herbs: mint"),
        ("a hole on a rib", "siphon: tail"),
        ("a side outlet whose hole reaches into the floor", "herbs: mint"),
        ("a bend nearer to the floor than wall, seal and socket, on a way that is given", "siphon: tail"),
    ],
)
def test_a_name_may_look_like_what_a_finding_says(name, bed):
    """A bed "herbs: mint" with a hole on a rib once ended the report in a fault of the program."""
    mends = []
    for called in ("bed 1", bed):
        run = run_plan(plan_from_text(write_plan(plan_of(PLANTED[name].fault)).replace("bed 1", called)))
        hit = next(f for f in find(run) if (f.key, f.state) == (PLANTED[name].key, PLANTED[name].state))
        mends.append([change.words.replace(called, "bed 1") for change in MENDS[hit.key](run, hit)])
    assert mends[0] == mends[1] != []


def test_vessels_whose_names_have_and_in_them_are_set_apart():
    """The chambers of another plan, 200 mm from each other, under the finding's own mend."""
    text = (Path(__file__).parents[1] / "plans" / "two-groups.toml").read_text(encoding="utf-8")
    for old, new in (with_(PLACED[0], 0), with_(PLACED[1], 0.2)):
        text = text.replace(old, new, 1)
    for old, new in (("chamber A", "here and there"), ("chamber B", "there and away")):
        text = text.replace(old, new)
    run = run_plan(plan_from_text(text), trace=False)
    hit = next(f for f in find_building(run.plan) if f.key == "overlap" and f.state == "does not")
    assert hit.subject == "here and there and there and away"
    after = [find_building(built(run.plan, change.values)) for change in MENDS["overlap"](run, hit)]
    assert hit.subject not in {f.subject for f in after[0]}


def test_of_many_pairs_in_one_place_twenty_are_named():
    """40 beds put in one place meet in 40 * 39 / 2 pairs; once all were told, by 100 beds in 60 kB."""
    from tests.benchmarks.bench_beds import plan_text as many

    given = many(40, 5).replace('depth = "300 mm"\n', 'depth = "300 mm"\nx = "0 m"\ny = "0 m"\n')
    found = [f for f in find_building(plan_from_text(given)) if f.key == "overlap" and f.state == "does not"]
    assert len(found) == MOST_NAMED == 20
    assert f"{40 * 39 // 2 - 20} more pairs" in found[-1].cause
    assert sum("more" in f.cause for f in found) == 1
    plan = plan_from_text(many(100, 1))
    all_ = [c for c in contacts(space(plan)) if not c.given]
    (note,) = (f for f in find_building(plan) if f.key == "overlap")
    deepest = sorted((c.depth for c in all_), reverse=True)
    assert note.value == deepest[0]
    named = note.cause.partition("same place: ")[2].split("; ")
    assert named[-1] == f"and {len(all_) - 20} more."
    depths = {f"{c.first} and {c.second}": c.depth for c in all_}
    assert [depths[pair] for pair in named[:-1]] == deepest[:20]


@pytest.mark.parametrize("name", PLANTED)
def test_mended(name):
    said = [(f.key, f.subject, f.state) for f in judged(PLANTED[name].mend) if f.state != "good"]
    assert said == []


#: In other plans: edits with a fault, key, subject, value and limit (m) by hand, and edits that mend it.
OVAL = (
    'shape = "rectangular"\nlength = "4 ft"',
    'shape = "oval"\noutlet_along = "4 in"\noutlet_across = "{} in"\nlength = "4 ft"',
)
LEVEL = ('length = "0.5 m"\nfittings = ["exit"]', 'legs = [{}]\nfittings = [{}"exit"]')
PLACED = tuple((f'name = "chamber {c}"', f'name = "chamber {c}"\nx = "{{}} m"\ny = "0 m"') for c in "AB")
HEAD = ('name = "chamber A"', 'name = "chamber A"\nheadroom = "{} mm"')
WALL = ("[[chamber]]", '[[chamber]]\nwall = "{} mm"')


def with_(edit, *values):
    return edit[0], edit[1].format(*values)


FOOT = ('shape = "round"\ndiameter = "250 mm"', 'shape = "tapered"\nlength = "{0} mm"\nwidth = "{0} mm"\n'
        'top_length = "300 mm"\ntop_width = "300 mm"')  # fmt: skip
NARROW = ('diameter = "250 mm"', 'diameter = "{} mm"')
OVERFLOW = ("[sump]", '[siphon.overflow]\nbore = "50 mm"\nheight = "480 mm"\n\n[sump]')
#: A corner of the rectangle around an oval of 48 by 20 in, 4 in from its end and 3 in from its side: its edge
#: is nearer than the far side of a hole of 64 mm, by the least of many distances.
NEAR_EDGE = -min(math.hypot(24 * math.cos(k / 1e4) - 20, 10 * math.sin(k / 1e4) - 7) for k in range(15708))
ELSEWHERE = {
    "a hole beside the floor of an oval tub": (
        "us-units", [with_(OVAL, 3)], "hole_edge", "trough: outlet to tee", NEAR_EDGE * 0.0254 - 0.032, 0.010,
        [with_(OVAL, 10)]),
    "two bends 30 mm apart": (
        "half-drums",
        [with_(LEVEL, '"along 250 mm", "down 30 mm", "along 250 mm"', '"2 x bend 90, sharp", ')],
        "piece_short", "tee 2 to chamber", 0.030, 2 * (0.0278 + 0.02413 + 0.001),
        [with_(LEVEL, '"along 700 mm falling 30 mm"', "")]),
    "two chambers 200 mm apart": (
        "two-groups", [with_(PLACED[0], 0), with_(PLACED[1], 0.2)], "overlap", "chamber A and chamber B",
        0.250 + 2 * 0.005 - 0.200, 0.0, [with_(PLACED[0], 0), with_(PLACED[1], 1.5)]),
    "a shelf over a chamber": (
        "two-groups", [with_(HEAD, 300)], "bell_lift", "siphon A", 0.300, 0.470, [with_(HEAD, 480)]),
    "a chamber too narrow at its foot": (
        "side-outlets", [with_(FOOT, 95)], "bell_room", "siphon", (0.095 - 0.0889) / 2 - 0.010, 0.010,
        [with_(FOOT, 240)]),
    "an overflow in the bell": (
        "half-drums", [with_(NARROW, 170), OVERFLOW], "overlap", "bell of siphon and overflow of siphon",
        None, 0.0, [OVERFLOW]),
    "a chamber of thin sheet": (
        "side-outlets", [with_(WALL, 0.8)], "seal_wall", "chamber: inlet from tee", 0.0008, 0.001,
        [with_(WALL, 3)]),
}  # fmt: skip


def elsewhere(name, edits):
    text = (Path(__file__).parents[1] / "plans" / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    return {(f.key, f.subject): f for f in find_building(plan_from_text(text)) if f.state == "does not"}


@pytest.mark.parametrize("name", ELSEWHERE)
def test_faults_of_other_plans(name):
    plan, fault, key, subject, value, limit, mend = ELSEWHERE[name]
    found = elsewhere(plan, fault)[key, subject]
    if value is not None:
        assert found.value == pytest.approx(value, abs=2e-4)
    assert found.limit == pytest.approx(limit, abs=2e-4)
    assert found.change
    assert [k for k in elsewhere(plan, mend) if k[0] == key] == []


STOOD = [
    (where, f'{where}\nx = "{{}} m"\ny = "0 m"')
    for where in ('name = "bed 3"', 'name = "chamber B"', "[sump]")
]
LINE = ('length = "0.5 m"\nfittings = ["entrance, square", "bend 90, short", "exit"]\noutfall = "0.56 m"',
        'legs = ["down 120 mm", "along {} mm"]')  # fmt: skip
MISSES = {
    # The level leg ends that far from the bed's outlet; the chamber's wall stands 125 mm from its middle.
    "short": ([with_(STOOD[0], 0.6), with_(STOOD[1], 0), with_(LINE, 380)], 0.6 - 0.380 - 0.125),
    "through the chamber": ([with_(STOOD[0], 0.7), with_(STOOD[1], 0), with_(LINE, 700)], 0.125),
    "long enough": ([with_(STOOD[0], 0.6), with_(STOOD[1], 0), with_(LINE, 474)], None),
}


@pytest.mark.parametrize("name", MISSES)
def test_a_line_that_does_not_end_at_its_vessel(name):
    """The bed stands that much nearer, or farther off, and then it does."""
    edits, value = MISSES[name]
    text = (Path(__file__).parents[1] / "plans" / "two-groups.toml").read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    run = run_plan(plan_from_text(text), trace=False)
    hits = [f for f in find_building(run.plan) if f.key == "line_misses"]
    assert [(f.subject, f.state) for f in hits] == [("bed 3 to chamber B", "does not")] * (value is not None)
    for hit in hits:
        assert hit.value == pytest.approx(value, abs=1e-9)
        changes = list(MENDS[hit.key](run, hit))
        assert [c.words.split(" mm ")[1] for c in changes] == [
            f"{w} chamber B." for w in ("nearer to", "farther from")
        ]
        after = [find_building(built(run.plan, c.values)) for c in changes]
        assert ["line_misses" in {f.key for f in found} for found in after] == (
            [False, True] if name == "short" else [True, False]
        )  # fmt: skip


def test_a_tail_that_does_not_reach_the_sump():
    """Its level piece ends 333 mm on, the sump's wall is 550 mm from its middle."""
    edits = [('name = "chamber A"', 'name = "chamber A"\nx = "0 m"\ny = "0 m"'), with_(STOOD[2], 2)]
    text = (Path(__file__).parents[1] / "plans" / "two-groups.toml").read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    plan = plan_from_text(text)
    found = next(f for f in find_building(plan) if f.key == "line_misses")
    (tail,) = (line for line in space(plan).lines if line.key == "siphon.siphon A.tail")
    assert found.subject == "siphon A: standpipe and tail"
    assert found.value == pytest.approx(2.0 - 0.550 - tail.points[-1][0] + 0.5 * 0.0334, abs=1e-4)


def test_more_lines_than_go_round_a_chamber():
    """Fourteen rubber seals of 63 mm, 10 mm of wall after each: 1.022 m; 300 mm across is 0.942 m round."""
    many = {"beds": "14", "length": "500 mm", "width": "500 mm", "depth": "180 mm", "floor": "400 mm",
            "flow": "40 L/min", "sump": "1000 L", "media": "gravel"}  # fmt: skip
    plan = edit.put(plan_from_text(plan_text(many)), {"chamber.chamber.diameter": 0.3})
    (found,) = (f for f in find_building(plan) if f.key == "holes_close")
    assert (found.subject, found.state) == ("chamber", "does not")
    assert (found.value, found.limit) == pytest.approx((math.pi * 0.3, 14 * 0.073))


def test_a_hole_wider_than_any_saw():
    """A 6 in line is 168.3 mm outside, and hole saws end at 152 mm (6 in)."""
    six = {"run.tee 3.size": '"6 in"', "chamber.chamber.diameter": '"800 mm"'}
    found = {f.key: f for f in find_building(edit.put_text(plan_from_text(DEMO), six))}
    assert (found["hole_saw"].state, found["hole_saw"].subject) == ("watch", "chamber: inlet from tee 3")
    assert (found["hole_saw"].value, found["hole_saw"].limit) == (0.168275, 0.152)
    assert "hole_saw" not in {f.key for f in find_building(plan_from_text(DEMO))}


def test_a_guard_too_narrow_for_a_hand_beside_the_bell():
    """A bell of 88.9 mm in a guard of 100 leaves 5.55 mm; 10 on each side want 108.9."""
    text = (Path(__file__).parents[1] / "plans" / "inside-bed.toml").read_text(encoding="utf-8")
    run = run_plan(edit.put(plan_from_text(text), {"siphon.media_guard": 0.1}), trace=False)
    (found,) = (f for f in find_building(run.plan) if f.key == "bell_room")
    assert (found.value, found.limit) == pytest.approx((0.00555, 0.010))
    (change,) = MENDS["bell_room"](run, found)
    assert change.values == {"siphon.siphon.media_guard": pytest.approx(0.109)}
    assert "bell_room" not in {f.key for f in find_building(built(run.plan, change.values))}


@pytest.mark.parametrize(("at", "found"), [(0.0, "does not"), (0.6, None)])
def test_a_bed_over_a_bell(at, found):
    """The second group stands 400 mm higher: its floor of 5 mm at 1.10 m, over a rim at 1.02 m."""
    text = (Path(__file__).parents[1] / "plans" / "two-groups.toml").read_text(encoding="utf-8")
    higher = {"bed.bed 3.floor": 1.10, "chamber.chamber B.floor": 0.90, "run.bed 3.outfall": 0.96}
    stood = {"bed.bed 3.x": at, "bed.bed 3.y": 0.0, "chamber.chamber A.x": 0.0, "chamber.chamber A.y": 0.0}
    plan = edit.put(plan_from_text(text), higher | stood | {"siphon.siphon B.tail.outlet": 0.72})
    hits = [f for f in find_building(plan) if f.key == "bell_lift"]
    assert [(f.state, f.subject) for f in hits] == ([(found, "siphon A")] if found else [])
    for f in hits:
        assert (f.value, f.limit) == pytest.approx((1.10 - 0.005 - 1.02, 0.470))
        assert f.cause.startswith("bed 3 is above it.")


def test_a_line_from_a_side_outlet_climbs_from_its_middle():
    """The outlet's invert is 12 mm under the tee's, and both pipes have one bore."""
    plan = plan_from_text(
        (Path(__file__).parents[1] / "plans" / "side-outlets.toml").read_text(encoding="utf-8")
    )
    bed, tee = plan.bed("bed 1"), plan.tees[0]
    plan = edit.put(plan, {"bed.bed 1.outlet_height": tee.elevation - bed.floor - 0.012})
    (found,) = (f for f in find_building(plan) if f.key == "line_climbs" and f.subject.startswith("bed 1"))
    assert found.value == pytest.approx(0.012)


BOX = (
    'name = "chamber B"\nshape = "round"\ndiameter = "250 mm"',
    'name = "chamber B"\nx = "0 m"\ny = "0 m"\nshape = "rectangular"\nlength = "250 mm"\nwidth = "250 mm"',
)
AT = ('name = "bed 3"', 'name = "bed 3"\nx = "0.6 m"\ny = "{} m"')


@pytest.mark.parametrize(
    ("edits", "state", "room"),
    # The line ends at the wall; its hole of 64 mm is 125 (1 - y / x) mm from the corner.
    [([with_(AT, 0.48), with_(LINE, 608)], "does not", 0.025 - 0.032),
     ([with_(AT, 0.42), with_(LINE, 580)], "watch", 0.0375 - 0.032),
     ([with_(AT, 0.30), with_(LINE, 531)], "", 0.0),
     ([with_(AT, 0.48), (LINE[0], 'length = "0.7275 m"\n' + LINE[0].partition("\n")[2])], "watch", -0.007)],
)  # fmt: skip
def test_a_hole_near_the_corner_of_a_square_chamber(edits, state, room):
    """A fault where the plan gives chamber, bed and line; where the line is derived, measure first."""
    text = (Path(__file__).parents[1] / "plans" / "two-groups.toml").read_text(encoding="utf-8")
    for old, new in [BOX, *edits]:
        assert old in text
        text = text.replace(old, new, 1)
    hits = [f for f in find_building(plan_from_text(text)) if f.key == "hole_edge"]
    assert [(f.subject, f.state) for f in hits] == [("chamber B: inlet from bed 3", state)] * bool(state)
    for f in hits:
        assert f.value == pytest.approx(room, abs=1e-3)


def test_a_bell_stands_as_high_as_its_top_and_its_wall():
    plan = plan_from_text(DEMO)
    (bell,) = (part for part in space(plan).uprights if part.name == "bell of siphon")
    assert bell.low == 0.500
    assert bell.high == pytest.approx(0.500 + 0.465 + 0.5 * (0.0889 - 0.07793), abs=1e-5)


def test_the_hole_of_a_tail_is_in_the_sumps_wall():
    """The tail ends inside; its hole is where its level piece meets the wall, 450 + 5 mm from the middle."""
    out = 'fittings = ["bend 90, short", "exit"]\noutlet = "0.250 m"\nenters = "through the wall"'
    placed = space(plan_of(((TAIL, out),)))
    (hole,) = (h for h in placed.holes if h.hole.vessel == "sump")
    (tail,) = (line for line in placed.lines if line.key == "siphon.siphon.tail")
    sump = placed.vessels["sump"]
    assert math.dist(hole.at[:2], (sump.x, sump.y)) == pytest.approx(0.455)
    assert math.dist(tail.points[-1][:2], (sump.x, sump.y)) < 0.3
    assert hole.at[2] == tail.points[-1][2]


@pytest.mark.parametrize(("z", "depth"), [(0.05, 0.0), (0.35, 0.02), (0.45, 0.0)])
def test_a_pipe_beside_a_trough_meets_its_wall_at_its_own_height(z, depth):
    """400 mm wide at the floor and 800 at the rim, 400 deep; 300 mm off a pipe is in it only high up."""
    trough = Tapered(depth=0.4, length=2.0, width=0.4, top_length=2.0, top_width=0.8)
    bed = replace(plan_from_text(DEMO).beds[0], floor=0.0, shape=trough)
    standing = Standing("bed 1", "bed.bed 1", bed, 0.0, 0.0, 0.0, True, 0.005)
    pipe = Pipe("own", "20 mm", 0.016, 0.020, 0.0)
    line = Line("line", "run.x", pipe, ((-3.0, 0.3, z), (3.0, 0.3, z)), "a", "b", True)
    assert line.reach(standing) == pytest.approx(depth, abs=1e-9)
