"""Each value of a plan is given, measured, assumed or derived, and keeps that through reading and writing."""

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.plan import PlanError, edit, plan_from_text, read_plan, write_plan
from aquacalc.plan.marks import MARKS, mark_of, shown_mark, values_of
from aquacalc.plan.model import Mark
from aquacalc.plan.schema import TABLES

pytestmark = pytest.mark.identity
TEXT = (data_dir() / "plans" / "one-bed.toml").read_text(encoding="utf-8")
BUCKET = 'porosity = { value = "45 %", mark = "measured", note = "bucket test 27 November" }'
MEASURED = TEXT.replace('media_depth = "260 mm"', f'media_depth = "260 mm"\n{BUCKET}')


@pytest.mark.parametrize(
    ("path", "mark"),
    [
        ("bed.bed.length", "given"),
        ("bed.bed.porosity", "assumed"),
        ("bed.bed.seal", "assumed"),
        ("run.bed.bore", "derived"),
        ("siphon.standpipe.lip_diameter", "given"),
        ("siphon.siphon.priming.froude", "assumed"),
        ("plan.water_temperature", "given"),
        ("limits.residual", "given"),
    ],
)
def test_mark_of_what_is_written_and_what_is_left_out(path, mark):
    plan = plan_from_text(TEXT)
    assert mark_of(plan, path).mark == mark


def test_a_value_that_is_left_out_says_why_it_is_usual():
    assert "bucket" in mark_of(plan_from_text(TEXT), "bed.bed.porosity").note


def test_mark_in_the_file_is_read_kept_and_written():
    plan = plan_from_text(MEASURED)
    assert plan.beds[0].media.porosity == 0.45
    assert mark_of(plan, "bed.bed.porosity") == Mark("measured", "bucket test 27 November")
    assert write_plan(plan) == MEASURED
    other = write_plan(edit.put(plan, {"pump.flow": 2e-4}))
    assert BUCKET in other
    assert mark_of(plan_from_text(other), "bed.bed.porosity").mark == "measured"
    bare = write_plan(edit.put(plan, {"bed.bed.porosity": 0.4}))
    assert "porosity = 0.4\n" in bare.replace('"40 %"', "0.4")
    assert mark_of(plan_from_text(bare), "bed.bed.porosity").mark == "given"


def test_text_made_anew_keeps_marks():
    from dataclasses import replace

    plan = plan_from_text(MEASURED)
    again = plan_from_text(write_plan(replace(plan, text="")))
    assert again == plan
    assert again.marks == plan.marks


def test_edit_can_say_what_a_value_rests_on():
    plan = edit.put(plan_from_text(TEXT), {"siphon.priming.observed": 2e-4}, mark="measured", note="jug")
    text = write_plan(plan)
    assert 'observed = {value = "12 L/min", mark = "measured", note = "jug"}' in text
    assert mark_of(plan_from_text(text), "siphon.priming.observed") == Mark("measured", "jug")


def test_saying_the_usual_value_makes_it_given():
    plan = plan_from_text(TEXT)
    same = edit.put(plan, {"bed.bed.porosity": plan.beds[0].media.porosity}, mark="measured")
    assert mark_of(plan_from_text(write_plan(same)), "bed.bed.porosity").mark == "measured"


def test_another_size_of_pipe_takes_the_marks_of_its_old_sizes_along():
    text = TEXT.replace('length = "0.8 m"', 'bore = { value = "40 mm", mark = "measured" }\nlength = "0.8 m"')
    plan = plan_from_text(text)
    assert mark_of(plan, "run.bed.bore").mark == "measured"
    assert mark_of(edit.put(plan, {"run.bed.size": "2 in"}), "run.bed.bore").mark == "derived"


def test_star_and_new_name():
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    plan = edit.put(plan, {"bed.*.porosity": 0.4}, mark="measured", note="bucket")
    assert [mark_of(plan, f"bed.bed {n}.porosity").mark for n in (1, 2, 3)] == ["measured"] * 3
    renamed = edit.put(plan, {"bed.bed 1.name": "trough"})
    assert mark_of(renamed, "bed.trough.porosity").note == "bucket"


@pytest.mark.parametrize(
    ("written", "key", "fix"),
    [
        ('{ value = "45 %", mark = "guessed" }', "bed.bed.porosity.mark", "measured"),
        ('{ value = "45 %", mrk = "given" }', "bed.bed.porosity.mrk", '"mark"'),
        ('{ mark = "given" }', "bed.bed.porosity", "value ="),
        ('{ value = "45 %", note = 3 }', "bed.bed.porosity.note", "characters"),
        ('{ value = "45 mm" }', "bed.bed.porosity", "number"),
    ],
)
def test_faults_of_a_mark_are_named(written, key, fix):
    with pytest.raises(PlanError) as caught:
        plan_from_text(MEASURED.replace(BUCKET, f"porosity = {written}"))
    assert caught.value.key == key
    assert fix in caught.value.fix


def test_every_value_has_a_mark_and_every_assumption_a_reason():
    seen = set()
    for file in sorted((data_dir() / "plans").glob("*.toml")):
        for path, _, _, mark in values_of(read_plan(file)):
            assert mark.mark in MARKS, path
            assert mark.note or mark.mark == "given", path
            seen.add(mark.mark)
    assert seen == {"given", "assumed", "derived", "measured"}
    for table in TABLES.values():
        for key in table.keys:
            if key.default not in ("required", None, (), ""):
                assert key.reason, f"{table.path}.{key.name}"


def test_mark_shown():
    assert shown_mark(Mark("given")) == ""
    assert shown_mark(Mark("measured", "jug")) == "measured: jug"
    assert shown_mark(Mark("derived")) == "derived"


def test_report_lists_what_is_assumed_and_measured():
    from aquacalc.report.marks_part import marks_section

    rows = {row.key: row for row in marks_section(plan_from_text(MEASURED)).rows}
    assert rows["bed.*.porosity of bed"].shown("metric") == "0.450"
    assert rows["bed.*.porosity of bed"].note == "measured: bucket test 27 November"
    assert rows["siphon.*.priming.froude of siphon"].note.startswith("assumed: ")
    assert "bed.*.length of bed" not in rows
