"""Values of a plan got and put by path."""

import dataclasses
import timeit
from pathlib import Path

import pytest

from aquacalc.catalogue import CatalogueError, data_dir, pipe
from aquacalc.equations.losses import two_45_smooth
from aquacalc.plan import PlanError, check_plan, edit, plan_from_text, read_plan, write_plan
from aquacalc.plan.differences import differences
from aquacalc.plan.records import tables_of
from aquacalc.plan.schema import TABLES
from aquacalc.units import UnitError

pytestmark = pytest.mark.identity
LAYOUTS = Path(__file__).parents[1] / "plans"


@pytest.fixture(scope="module")
def plan():
    return read_plan(data_dir() / "plans" / "greenhouse.toml")


@pytest.mark.parametrize("name", ["two-groups", "us-units", "pump-curve", "half-drums"])
def test_every_key_of_every_record_can_be_got_and_put_back(name):
    plan = read_plan(LAYOUTS / f"{name}.toml")
    seen = 0
    for table, place, record in tables_of(plan):
        for key in TABLES[table].keys:
            if key.shapes and record.shape.kind not in key.shapes:
                continue
            path = f"{place}.{key.name}"
            value = edit.get(plan, path)
            assert edit.put(plan, {path: value}) == plan
            if isinstance(value, float):
                other = edit.put(plan, {path: 1.25 * value + 0.001})
                assert edit.get(other, path) == 1.25 * value + 0.001
                assert other != plan
                seen += 1
    assert seen > 50


def test_star_reaches_every_record(plan):
    new = edit.put(plan, {"bed.*.porosity": 0.40})
    assert edit.get(new, "bed.*.porosity") == (0.40, 0.40, 0.40)
    assert edit.get(plan, "bed.*.porosity") == (0.45, 0.45, 0.45)


def test_only_siphon_needs_no_name(plan):
    short = edit.put(plan, {"siphon.standpipe.height": 0.4, "siphon.lip_weir": 1.5})
    assert short == edit.put(plan, {"siphon.siphon.standpipe.height": 0.4, "siphon.siphon.lip_weir": 1.5})
    two = read_plan(LAYOUTS / "two-groups.toml")
    assert edit.get(two, "siphon.siphon B.standpipe.height") == 0.43
    with pytest.raises(KeyError, match="siphon A"):
        edit.get(two, "siphon.standpipe.height")


def test_size_brings_its_pipe(plan):
    new = edit.put(plan, {"run.tee 3.size": "2 in"})
    found, wanted = new.runs[4].pipe, pipe("ASTM D1785 schedule 40", "2 in")
    assert (found.bore, found.outside_diameter) == (wanted.bore, wanted.outside_diameter)
    assert new.runs[4].fittings[0].k == two_45_smooth(0.08, wanted.bore)
    assert plan_from_text(write_plan(new)) == new
    assert set(differences(plan, new)) == {"run.tee 3.size"}  # its bore and wall go without saying
    other = edit.put(plan, {"run.tee 3.series": "ISO 1452 PN16", "run.tee 3.size": "63 mm"})
    assert other.runs[4].pipe.bore == pipe("ISO 1452 PN16", "63 mm").bore
    whole = edit.put(plan, {"run.tee 3.pipe": new.runs[4].pipe})
    assert whole == new
    with pytest.raises(CatalogueError, match="9 in"):
        edit.put(plan, {"run.tee 3.size": "9 in"})


@pytest.mark.parametrize("place", ["run.tee 3", "siphon.siphon.standpipe"])
def test_a_whole_pipe_takes_the_marks_of_the_old_one_with_it(plan, place):
    sizes = {f"{place}.bore": 0.040, f"{place}.roughness": 2e-6}
    marked = edit.put(plan, sizes, "measured", "calliper")
    assert sizes.keys() <= marked.marks.keys()
    whole = edit.put(marked, {f"{place}.pipe": pipe("ASTM D1785 schedule 40", "1-1/2 in")})
    assert sizes.keys().isdisjoint(whole.marks)


def test_bell_size_brings_its_bore(plan):
    new = edit.put(plan, {"siphon.bell.size": "4 in"})
    wanted = pipe("ASTM D1785 schedule 40", "4 in")
    bell = new.siphons[0].bell
    assert (bell.bore, bell.outside_diameter) == (wanted.bore, wanted.outside_diameter)
    assert plan_from_text(write_plan(new)) == new


def test_strainer_and_delivery_come_and_go(plan):
    bare = edit.put(plan, {"bed.bed 1.strainer": None, "pump.delivery": None})
    assert bare.beds[0].strainer is None
    assert plan_from_text(write_plan(bare)) == bare
    again = edit.put(bare, {"bed.bed 1.strainer": plan.beds[0].strainer, "pump.delivery": plan.pump.delivery})
    assert again == plan
    with pytest.raises(KeyError, match="strainer"):
        edit.put(bare, {"bed.bed 1.strainer.count": 9})


@pytest.mark.parametrize(
    ("path", "word"),
    [
        ("bed.bed 9.porosity", "bed 9"),
        ("bed.bed 1.porosty", '"porosity"'),
        ("bath.bed 1.porosity", "bath"),
        ("bed.bed 1", "bed.bed 1"),
        ("pump", "pump"),
        ("pump.delivry.length", "pump.delivry"),
        ("sump.pipe", '"pipe"'),
        ("", "not a table"),
    ],
)
def test_path_to_nowhere_is_named(plan, path, word):
    with pytest.raises(KeyError, match=word):
        edit.put(plan, {path: 1.0})
    with pytest.raises(KeyError, match=word):
        edit.get(plan, path)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("bed.bed 1.porosity", "0.4 m"),
        ("bed.bed 1.porosity", "wide"),
        ("bed.bed 1.porosity", None),
        ("bed.bed 1.porosity", True),
        ("bed.bed 1.media", 3.0),
        ("bed.bed 1.supports", 3.5),
        ("run.bed 1.fittings", "bend 45"),
    ],
)
def test_value_of_another_type_is_refused(plan, path, value):
    with pytest.raises((TypeError, UnitError), match="bed 1"):
        edit.put(plan, {path: value})


def test_numbers_of_numpy_become_floats(plan):
    import numpy as np

    new = edit.put(plan, {"bed.bed 1.porosity": np.float32(0.5), "bed.bed 2.porosity": 1})
    assert [type(p) for p in edit.get(new, "bed.*.porosity")] == [float] * 3


def test_put_leaves_the_checks_to_check_plan(plan):
    bad = edit.put(plan, {"siphon.standpipe.height": 5.0})
    with pytest.raises(PlanError, match="standpipe"):
        check_plan(bad)


@pytest.mark.parametrize(
    "path", ["bed.bed 1.porosity", "siphon.standpipe.height", "pump.flow", "run.tee 3.bore"]
)
def test_put_takes_under_50_microseconds(plan, path):
    value = edit.get(plan, path)
    best = min(timeit.repeat(lambda: edit.put(plan, {path: value}), number=200, repeat=15)) / 200
    assert best < 50e-6


def test_fittings_typed_are_those_of_the_file(plan):
    """Two 45s lose by their spacing over the bore, which stands in another key of the same table."""
    text = '[{ fitting = "two 45s", spacing = "90 mm" }, "exit"]'
    source = (data_dir() / "plans" / "greenhouse.toml").read_text(encoding="utf-8")
    old = next(line for line in source.splitlines() if line.startswith('fittings = [{ fitting = "two 45s"'))
    read = plan_from_text(source.replace(old, f"fittings = {text}"))
    table = "run.tee 3" if read.runs[-1].fittings != plan.runs[-1].fittings else "siphon.tail"
    assert edit.put_text(plan, {f"{table}.fittings": text}) == read


def test_a_tail_ends_at_its_middle_however_its_outlet_is_given(plan):
    """Its bore is 26.6446 mm: a tail whose underside is at the outlet has its middle half of that higher."""
    for said, higher in (("centre", 0.0), ("invert", 0.0133223)):
        tail = dataclasses.replace(plan.siphons[0].tail, outlet_is=said, outlet=0.32)
        assert tail.end == pytest.approx(0.32 + higher, abs=1e-6)
