"""A plan says only what differs: equal beds by count, parts like others, the usual value for the rest."""

import random
import sys
import tomllib

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.engine.packing import pack
from aquacalc.plan import PlanError, check_plan, edit, plan_from_text, read_plan, write_plan
from aquacalc.plan.marks import mark_of, values_of
from aquacalc.plan.records import usual_shape

pytestmark = pytest.mark.identity
FILE = data_dir() / "plans" / "minimal.toml"
TEXT = FILE.read_text(encoding="utf-8")
ALL = ["bed 1", "bed 2", "bed 3"]
#: The same plan with every short way written out.
LIKES = TEXT.replace("count = 3\n", 'name = "bed 1"\n').replace(
    "[[run]]\nfrom = \"every bed\"",
    '[[bed]]\nlike = "bed 1"\n\n[[bed]]\nlike = "bed 1"\nporosity = 0.4\n\n[[run]]\nfrom = "bed 1"',
).replace('[[chamber]]', '[[run]]\nfrom = ["bed 2", "bed 3"]\nlike = "bed 1"\n\n[[chamber]]')  # fmt: skip


def test_minimal_plan_is_short_and_is_what_it_says():
    assert len(TEXT.splitlines()) <= 25
    plan = plan_from_text(TEXT)
    assert [bed.name for bed in plan.beds] == ["bed 1", "bed 2", "bed 3"]
    assert {(run.start, run.to, run.length) for run in plan.runs} == {
        (f"bed {n}", "chamber", 1.0) for n in (1, 2, 3)
    }
    assert plan.beds[2].shape == plan.beds[0].shape
    assert (plan.beds[0].media.depth, plan.sump.water_level) == (0.27, 0.65)
    assert [f.name for f in plan.runs[0].fittings] == ["entrance, square", "bend 90, short", "exit"]
    assert mark_of(plan, "bed.bed 2.porosity").mark == "assumed"
    assert mark_of(plan, "run.bed 1.fittings").mark == "assumed"
    assert mark_of(plan, "bed.bed 2.shape").mark == "derived"
    assert mark_of(plan, "bed.bed 2.length").mark == "given"


def test_like_takes_the_rest_from_another():
    plan = plan_from_text(LIKES)
    assert [bed.name for bed in plan.beds] == ["bed 1", "bed 2", "bed 3"]
    assert [bed.media.porosity == 0.4 for bed in plan.beds] == [False, False, True]
    assert [run.start for run in plan.runs] == ["bed 1", "bed 2", "bed 3"]


def test_a_bed_like_one_of_another_shape_keeps_what_is_not_of_the_shape():
    text = LIKES.replace('like = "bed 1"', 'like = "bed 1"\nshape = "round"\ndiameter = "0.9 m"', 1)
    plan = plan_from_text(text)
    assert type(plan.beds[1].shape) is not type(plan.beds[0].shape)
    assert plan.beds[1].shape.diameter == 0.9
    assert (plan.beds[1].media, plan.beds[1].floor) == (plan.beds[0].media, plan.beds[0].floor)


@pytest.mark.parametrize("text", [TEXT, LIKES], ids=["count", "like"])
def test_edits_of_a_short_plan_read_back_as_they_are(text):
    plan = plan_from_text(text)
    assert write_plan(plan) == text
    paths = [path for path, key, value, _ in values_of(plan) if isinstance(value, float) and not key.shapes]
    draw = random.Random(7)
    for _ in range(12):
        changes = {path: 1.01 * edit.get(plan, path) for path in draw.sample(paths, 3)}
        changed = edit.put(plan, changes)
        try:
            again = plan_from_text(write_plan(changed))
        except PlanError:
            continue
        assert again == changed, changes


def test_one_of_equal_beds_changed_is_written_by_itself():
    plan = plan_from_text(TEXT)
    text = write_plan(edit.put(plan, {"bed.bed 2.porosity": 0.4}, mark="measured", note="bucket"))
    beds = tomllib.loads(text)["bed"]
    assert beds[1] == {
        "name": "bed 2", "like": "bed 1", "porosity": {"value": 0.4, "mark": "measured", "note": "bucket"},
    }  # fmt: skip
    assert beds[2] == {"name": "bed 3", "like": "bed 1"}
    assert "\ncount" not in text


def test_all_of_equal_beds_changed_stay_one_table():
    plan = plan_from_text(TEXT)
    text = write_plan(edit.put(plan, {"bed.*.porosity": 0.4}))
    assert tomllib.loads(text)["bed"][0]["count"] == 3
    assert len(tomllib.loads(text)["bed"]) == 1


def test_bed_that_others_are_like_changes_alone():
    plan = plan_from_text(LIKES)
    changed = edit.put(plan, {"bed.bed 1.media_depth": 0.25})
    assert plan_from_text(write_plan(changed)) == changed


def test_beds_taken_out_of_a_count():
    from dataclasses import replace

    plan = plan_from_text(TEXT)
    less = replace(plan, beds=plan.beds[:2], runs=plan.runs[:2])
    assert plan_from_text(write_plan(less)) == less


@pytest.mark.parametrize(
    ("old", "new", "key", "fix"),
    [
        ("count = 3", 'count = "3"', "bed number 1.count", "whole number"),
        ("count = 3", "count = 501", "bed number 1.count", "500"),
        ("count = 3", 'name = "a"\nlike = "b"', "bed.a.like", "in full"),
        (
            "[[chamber]]",
            f"[[run]]\nfrom = {ALL}\nlike = 'x'\n[[chamber]]",
            "run.every bed.from",
            "name the beds",
        ),
        ('from = "every bed"', 'from = ["bed 1", "bed 9"]', "run.bed 9.from", "bed 1"),
    ],
)
def test_faults_of_short_ways(old, new, key, fix):
    with pytest.raises(PlanError) as caught:
        plan_from_text(TEXT.replace(old, new))
    found = next(f for f in caught.value.faults if f.key == key)
    assert fix in found.fix


def test_read_plan_reads_the_file():
    assert read_plan(FILE) == plan_from_text(TEXT)


def comb(beds: int) -> str:
    """A plan of so many beds, each with its tee on one line to the chamber."""
    head, rest = TEXT.split("[[run]]", 1)
    lines = [head.replace("count = 3", f"count = {beds}")]
    lines += [f'[[tee]]\nname = "tee {i}"\nelevation = "{600 - 0.1 * i:.1f} mm"' for i in range(1, beds + 1)]
    for i in range(1, beds + 1):
        lines.append(f'[[run]]\nfrom = "bed {i}"\nto = "tee {i}"\nsize = "50 mm"\nlength = "0.5 m"')
        to = f"tee {i + 1}" if i < beds else "chamber"
        lines.append(f'[[run]]\nfrom = "tee {i}"\nto = "{to}"\nsize = "90 mm"\nlength = "1 m"')
    return "\n".join([*lines, "[[chamber]]" + rest.split("[[chamber]]", 1)[1]])


def calls(work) -> int:
    """Count the calls, and the steps of generators, that some work takes: the same on every machine."""
    count = 0

    def counted(frame, event, arg):
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(counted)
    try:
        work()
    finally:
        sys.setprofile(None)
    return count


def test_reading_checking_and_packing_grow_with_the_beds():
    plans, texts = {}, {beds: comb(beds) for beds in (10, 100, 200)}
    for beds in texts:  # what is kept for the next time is kept now
        plans[beds] = plan_from_text(texts[beds])
        pack(plans[beds])
    for name, work in (
        ("reading", lambda beds: plan_from_text(texts[beds])),
        ("checking", lambda beds: check_plan(plans[beds])),
        ("packing", lambda beds: pack(plans[beds])),
    ):
        few, many = (calls(lambda beds=beds, work=work: work(beds)) for beds in (100, 200))
        assert many / few < 2.0**1.3, name


@pytest.mark.parametrize(
    ("sizes", "bed", "sump"),
    [
        ("diameter", "round", "round"),
        ("length width", "rectangular", "rectangular"),
        ("length diameter", "half drum", "round"),
        ("length width top_length top_width", "tapered", "tapered"),
        ("depths areas", "table", "table"),
        ("depth", "rectangular", "round"),
    ],
)
def test_sizes_tell_the_shape(sizes, bed, sump):
    """The first shape that has all the sizes given and needs no other; else the usual one."""
    given = dict.fromkeys(sizes.split(), 1.0)
    assert [usual_shape(table, given) for table in ("bed", "sump")] == [bed, sump]


@pytest.mark.parametrize(
    ("length", "outlet", "turns"),
    [
        ("0.9 m", "floor", 1),
        ("90 mm", "floor", 0),
        ("0.9 m", "side", 0),
        ("159 mm", "floor", 0),
        ("161 mm", "floor", 1),
    ],
)
def test_a_line_from_a_floor_to_a_tee_turns_unless_the_tee_is_right_below(length, outlet, turns):
    """A straight pipe goes down from a floor, or along from a side: common practice, no source.

    The tee is 110 mm under the floor; a line longer than that by 50 mm cannot be straight.
    """
    text = (data_dir() / "plans" / "greenhouse.toml").read_text("utf-8")
    given = 'length = "90 mm"\nfittings = ["entrance, square", "tee, branch"]'
    assert given in text
    text = text.replace(given, f'length = "{length}"')
    if outlet == "side":
        before, name, after = text.partition('name = "bed 2"')
        text = before + name + after.replace('"floor"', '"side"\noutlet_height = "40 mm"', 1)
    names = [f.name for f in plan_from_text(text).run_from("bed 2").fittings]
    assert names == ["entrance, square", *["bend 90, short"] * turns, "tee, branch"]
