"""A way given leg by leg: read, checked against what stands beside it, and written again."""

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.geometry.routes import run_route
from aquacalc.geometry.space import space
from aquacalc.plan import PlanError, plan_from_text
from aquacalc.plan.legs import corners, problem, read_leg, shown, turns, write_leg
from aquacalc.plan.model import Fitting
from aquacalc.plan.write import write_plan

pytestmark = pytest.mark.identity
ONE = (data_dir() / "plans" / "one-bed.toml").read_text(encoding="utf-8")
LENGTH = 'length = "0.8 m"\n'
LEGS = 'legs = ["down 130 mm", "along 670 mm"]\n'
FITTINGS = 'fittings = ["entrance, square", "bend 90, swept", "exit"]\n'
OUTFALL = 'outfall = "0.55 m"\n'


def test_legs_alone_are_enough():
    text = ONE
    for part in (LENGTH, FITTINGS, OUTFALL):
        assert part in text
        text = text.replace(part, "", 1)
    run = plan_from_text(text).runs[0]
    assert run.length == pytest.approx(0.8)
    # Floor 0.70, 130 down to the middle, half a bore of 40.894 on to the invert.
    assert run.outfall == pytest.approx(0.70 - 0.13 - 0.020447, abs=1e-6)
    assert [f.name for f in run.fittings] == ["entrance, square", "bend 90, short", "exit"]


def test_legs_from_a_tee_begin_at_its_invert():
    text = (data_dir() / "plans" / "greenhouse.toml").read_text(encoding="utf-8")
    old = 'length = "0.80 m"\nfittings = [{ fitting = "two 45s", spacing = "80 mm" }, "exit"]\n'
    old += 'outfall = "0.560 m"\n'
    assert old in text
    run = plan_from_text(text.replace(old, 'legs = ["along 800 mm falling 20 mm"]\n')).runs[4]
    assert run.outfall == pytest.approx(0.580 - 0.020, abs=1e-9)


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        (LENGTH, 'length = "0.81 m"\n', "run.bed.length", "sum of its legs"),
        (LEGS, 'legs = ["down 150 mm", "along 650 mm"]\n', "run.bed.legs", "end at"),
        (LEGS, 'legs = ["down 130 mm", "along 300 mm", "left 370 mm"]\n', "run.bed.legs", "turn by"),
        (LEGS, 'legs = ["down 130 mm", "up 670 mm"]\n', "run.bed.legs", "turns back"),
        (LEGS, 'legs = ["down 130 mm", "along 300 mm", "left at 45 370 mm"]\n', "run.bed.legs", "turn by"),
        (LEGS, 'legs = ["sideways 130 mm"]\n', "run.bed.legs", "is not a leg"),
        (LEGS, 'legs = ["down 130"]\n', "run.bed.legs", "is not a leg"),
        (LEGS, "legs = 7\n", "run.bed.legs", "list of legs"),
        (LEGS, "legs = [7]\n", "run.bed.legs", "7: is not a leg. Fix: write legs ="),
        (LEGS, 'legs = ["down 0 mm"]\n', "run.bed.legs", "a length above 0"),
        (LEGS, 'legs = ["down 130 mm falling 5 mm"]\n', "run.bed.legs", "only a level leg falls"),
        (LEGS, 'legs = ["along 130 mm falling 130 mm"]\n', "run.bed.legs", "less than its length"),
    ],
)
def test_one_error_names_key_and_fix(old, new, key, said):
    with pytest.raises(PlanError) as error:
        plan_from_text(ONE.replace(old, new, 1))
    assert key in str(error.value)
    assert said in str(error.value)


@pytest.mark.parametrize("fitting", ["2 x bend 45", '{ fitting = "two 45s", spacing = "80 mm" }'])
def test_two_45s_turn_twice_by_half(fitting):
    """A level line that goes aside by 45 degrees and on again; one bend of 90 does not turn so."""
    legs = 'legs = ["down 130 mm", "along 300 mm", "left at 45 80 mm", "right at 45 290 mm"]\n'
    fitting = fitting if fitting.startswith("{") else f'"{fitting}"'
    text = ONE.replace(LEGS, legs, 1)
    turned = text.replace('"bend 90, swept"', f'"bend 90, swept", {fitting}', 1)
    assert corners(plan_from_text(turned).runs[0].legs) == [90.0, 45.0, 45.0]
    with pytest.raises(PlanError, match="turn by"):
        plan_from_text(text.replace('"bend 90, swept"', '"bend 90, swept", "bend 90, swept"', 1))


def test_a_length_within_5_mm_gives_way_to_the_legs():
    plan = plan_from_text(ONE.replace(LENGTH, 'length = "0.803 m"\n', 1))
    assert plan.runs[0].length == pytest.approx(0.8)
    assert sum(p.centre for p in run_route(plan, plan.runs[0]).pieces) == pytest.approx(0.8)


def test_legs_survive_writing():
    plan = plan_from_text(ONE)
    assert plan_from_text(write_plan(plan)).runs == plan.runs


@pytest.mark.parametrize(
    "text",
    [
        "down 0.08 m",
        "along 1.2 m falling 0.01 m",
        "left at 45 0.06 m",
        "up 0.3 m",
        "right 2.0 m rising 0.004 m",
    ],
)
def test_a_leg_is_written_as_it_is_read(text):
    assert write_leg(read_leg(text)) == text


def test_corners():
    legs = tuple(
        map(read_leg, ["down 90 mm", "along 1 m", "left at 45 80 mm", "left at 45 1 m", "right 1 m"])
    )
    assert corners(legs) == [90, 45, 45, 90]


def test_a_pipe_lies_where_its_legs_lead():
    """Bed given at the origin, floor 0.70: 130 down, then 670 on to the inside of the chamber's wall."""
    plan = plan_from_text(ONE)
    line = next(line for line in space(plan).lines if line.key.startswith("run."))
    assert line.given
    start, corner, end = line.points
    assert start[2] - corner[2] == pytest.approx(0.13)
    assert abs(end[0] - corner[0]) == pytest.approx(0.67)
    chamber = space(plan).vessels["chamber"]
    assert abs(chamber.x - end[0]) == pytest.approx(0.125, abs=1e-3)


@pytest.mark.parametrize("text", ["along 0 m", "along -1 m", "along 1e400 m", "down 0 mm"])
def test_a_leg_has_a_length(text):
    with pytest.raises(ValueError, match=r"length above 0|not a finite|begin|negative"):
        read_leg(text)


def test_what_a_pipe_turns_and_what_its_fittings_do():
    """Two 45s are two bends; two of them four. A bend is one for each that is counted."""
    fittings = tuple(
        Fitting(name, count, 0.4)
        for name, count in (
            ("entrance, square", 1), ("two 45s", 2), ("bend 90, swept", 2), ("bend 45", 3),
            ("tee, branch", 1),
        )
    )  # fmt: skip
    turned = [("bend 45", 45)] * 4 + [("bend 90, swept", 90)] * 2 + [("bend 45", 45)] * 3
    assert turns(fittings) == turned
    legs = tuple(map(read_leg, ["along 1 m", "left 1 m", "right at 45 1 m"]))
    bends = tuple(Fitting(name, 1, 0.4) for name in ("bend 90, short", "bend 45"))
    assert problem(legs, bends) is None
    assert problem(legs, bends[::-1])[0] == "turn by [90.0, 45.0] degrees, the fittings by [45, 90]"
    assert problem(legs[:1], bends)[0] == "turn by nothing degrees, the fittings by [90, 45]"
    assert problem(legs, ())[0] == "turn by [90.0, 45.0] degrees, the fittings by nothing"
    back = tuple(map(read_leg, ["down 1 m", "along 1 m", "up 1 m", "down 1 m"]))
    assert problem(back, bends)[0] == "turns back by 180.0 degrees after leg 3"
    written = {
        "left at 45 80 mm": "left at 45 80 mm",
        "along 1.2 m falling 10 mm": "along 1200 mm falling 10 mm",
        "up 0.3 m": "up 300 mm",
        "along 1 m rising 4 mm": "along 1000 mm rising 4 mm",
    }
    assert {text: shown(read_leg(text)) for text in written} == written
