"""The fault finder: a cause planted in a plan gives its sign, and is found from what a grower sees."""

import math

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.design import trouble as t
from aquacalc.design.change import built
from aquacalc.design.many_plans import run_plans
from aquacalc.plan import read_plan

pytestmark = pytest.mark.identity

#: Causes planted: plan, cause, strength; none of the strengths is one that the finder tries.
PLANTED = [
    ("greenhouse", "pump weak", 0.31),
    ("greenhouse", "pump weak", 0.83),
    ("greenhouse", "pump strong", 0.71),
    ("greenhouse", "leak", 0.35),
    ("greenhouse", "strainer of bed 2", 0.93),
    ("greenhouse", "line from bed 1", 0.78),
    ("greenhouse", "line from tee 3", 0.55),
    ("greenhouse", "tail", 0.33),
    ("greenhouse", "tail", 0.52),
    ("greenhouse", "air leak", 0.46),
    ("greenhouse", "bell openings", 0.97),
    ("greenhouse", "media", 0.41),
    ("greenhouse", "bed 1 sunk", 0.31),
    ("greenhouse", "bed 3 risen", 0.44),
    ("greenhouse", "standpipe too short", 0.57),
    ("greenhouse", "sump low", 0.68),
    ("one-bed", "media", 0.37),
    ("one-bed", "pump weak", 0.44),
    ("one-bed", "tail", 0.43),
    ("one-bed", "air leak", 0.33),
]


@pytest.fixture(scope="module")
def finders():
    """One finder for each plan, its ladder of causes run once."""
    return {
        name: t.Finder(read_plan(data_dir() / "plans" / f"{name}.toml")) for name in ("greenhouse", "one-bed")
    }


def seen(finder, cause, run):
    """Return what a grower notes: every sign, times to 10 s, a jug to 0.2 L/min, levels to 5 mm."""
    signs = tuple(name for name, sign in t.SIGNS.items() if sign(finder.siphon, run, finder.base))
    jug = finder.base.pump if cause.leaks else run.pump
    readings = {("jug", ""): round(jug * 6e4 / 0.2) * 0.2 / 6e4} if jug > 1e-6 else {}
    for what in ("fill", "drain"):
        value = t.reading(run.plan, run, finder.siphon, what, "")
        if not math.isnan(value):
            readings[what, ""] = max(round(value / 10.0) * 10.0, 10.0)
    for bed in finder.plan.beds:
        for what in ("top", "left"):
            value = t.reading(run.plan, run, finder.siphon, what, bed.name)
            if not math.isnan(value):
                readings[what, bed.name] = round(value / 0.005) * 0.005
    return t.Seen(signs, readings)


def test_planted_causes_are_found(finders):
    """18 of 20 at the least are among the three to look at, and 15 are the first of them.

    What sits in one pipe cannot be told apart from outside (a strainer and the drain line behind it, the
    openings of the bell and the tail), so the finder names both; the quicker look comes first.
    """
    missed, later = [], []
    for name, key, strength in PLANTED:
        finder = finders[name]
        cause = next(c for c in finder.causes if c.key == key)
        run = run_plans([built(finder.plan, cause.plant(strength))])[0]
        found = [s.cause.key for s in finder.suspects(seen(finder, cause, run))[:3]]
        if key not in found:
            missed.append((name, key, found))
        elif found[0] != key:
            later.append((name, key, found))
    assert len(PLANTED) == 20
    assert len(missed) <= 2, missed
    assert len(later) <= 3, later


def test_a_cause_says_what_it_plants(finders):
    """The words of a cause against its edits: how much less, more, shut or out of level."""
    finder = finders["greenhouse"]
    plan, causes = finder.plan, {c.key: c for c in finder.causes}
    flow, level = plan.pump.flow, plan.sump.water_level
    weak, strong = (causes[f"pump {word}"].plant(0.4)["pump.flow"] / flow for word in ("weak", "strong"))
    low = causes["sump low"].plant(0.4)["sump.water_level"]
    full = causes["sump full"].plant(1.0)["sump.water_level"]
    for key, said in (
        ("pump weak", f"{100 * (1 - weak):.0f} % less"),
        ("pump strong", f"{100 * (strong - 1):.0f} % more"),
        ("sump low", f"{1e3 * (level - low):.0f} mm less"),
        ("bed 1 sunk", "32 mm"),
    ):
        assert said in causes[key].says(0.4), key
    assert causes["sump full"].says(1.0) == f"{1e3 * (full - level):.0f} mm more"
    bed = plan.beds[0]
    coefficient = causes["strainer of bed 1"].plant(0.5)["bed.bed 1.strainer.discharge_coefficient"]
    shut = 100 * (1 - coefficient / bed.strainer.discharge_coefficient)
    assert f"{shut:.0f} % of its openings shut" in causes["strainer of bed 1"].says(0.5)
    sunk, risen = (causes[f"bed 1 {word}"].plant(0.5) for word in ("sunk", "risen"))
    assert sunk == {"bed.bed 1.floor": pytest.approx(bed.floor - 0.04)}
    assert risen["bed.bed 1.floor"] == pytest.approx(bed.floor + 0.04)
    assert risen["run.bed 1.length"] == pytest.approx(plan.runs[0].length + 0.04)
    alone = [c.key for c in finders["one-bed"].causes]
    assert not [key for key in alone if key.endswith(("sunk", "risen"))]  # one bed is level with itself


def test_a_plan_that_does_it_by_itself_blames_no_part():
    """Any part a little off gives the sign then: five parts 10 % shut were named, with nothing broken."""
    plan = read_plan(data_dir() / "plans" / "spills-without-starting.toml")
    said = "\n".join(t.trouble(plan, t.Seen(("never starts",))).steps)
    assert "with nothing broken" in said
    assert "A change that was tried: Fit a 1 in standpipe" in said
    assert "1. " not in said
    mended = "\n".join(
        t.trouble(read_plan(data_dir() / "plans" / "greenhouse.toml"), t.Seen(("never starts",))).steps
    )
    assert "with nothing broken" not in mended
    assert "1. " in mended
