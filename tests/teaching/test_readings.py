"""The sheet of readings comes back as it was filled in; what cannot be used is said with line and fix."""

import csv
import io

import pytest

from aquacalc.buildsheet.sheet import build_sheet
from aquacalc.catalogue import data_dir
from aquacalc.design.fit import fit
from aquacalc.figures.fit_ranges import ranges
from aquacalc.notebook import use
from aquacalc.notebook.readings_form import ReadingsForm, answers, changes, estimates, matches, used
from aquacalc.notebook.saved_readings import (
    BUILT,
    COLUMNS,
    ReadingsError,
    invented,
    read_readings,
)
from aquacalc.plan import read_plan


@pytest.fixture(scope="module")
def plan():
    return read_plan(data_dir() / "plans" / "greenhouse.toml")


@pytest.fixture(scope="module")
def readings(plan):
    return invented(plan)


@pytest.fixture(scope="module")
def found(plan, readings):
    return fit(plan, readings)


def filled(plan, values: dict[str, tuple[str, str]]) -> str:
    """The build's own sheet with some values and errors written in."""
    rows = list(csv.DictReader(io.StringIO(build_sheet(plan).table("readings").csv())))
    for row in rows:
        row["value"], row["error"] = values.get(row["key"], ("", ""))
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


@pytest.mark.identity
def test_the_builds_sheet_filled_in_is_read_back(plan, tmp_path):
    text = filled(
        plan,
        {
            "fill_time": ("12 min 36 s", "10"),
            "jug_flow": ("16.4", "0.4"),
            "sump_rise": ("31.0 cm", "5"),
            "level_at_break": ("6", "3 mm"),
        },
    )
    path = tmp_path / "readings.csv"
    path.write_text("\ufeff" + text, encoding="utf-8")  # as a spreadsheet saves it
    read = {r.what: r for r in read_readings(path, "siphon")}
    assert set(read) == {"fill time", "jug flow", "sump rise", "level at break"}
    assert (read["fill time"].value, read["fill time"].error) == (756.0, 10.0)
    assert read["jug flow"].value == pytest.approx(16.4e-3 / 60)
    assert (read["sump rise"].value, read["sump rise"].error) == pytest.approx((0.310, 0.005))
    assert read["level at break"].bed in {b.name for b in plan.beds}
    assert read_readings(path, "another siphon") == ()


@pytest.mark.identity
@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        (lambda t: t.replace("key,siphon", "name,siphon"), "line 1", "head"),
        (lambda t: t.replace("fill_time", "fill_tme"), "line 2", "is not a reading"),
        (lambda t: t.replace("12 min 36 s,10", "12 min 36 s,"), "line 2.error", "is empty"),
        (lambda t: t.replace("12 min 36 s", "-5"), "line 2.value", ""),
        (lambda t: t.replace("12 min 36 s", "0"), "line 2.value", "not above zero"),
        (lambda t: t.replace("12 min 36 s", "nan"), "line 2.value", ""),
        (lambda t: t.replace("12 min 36 s", "3 L"), "line 2.value", "time"),
        (lambda t: t.replace("12 min 36 s", "soon"), "line 2.value", ""),
        (lambda t: t + "1,2,3\n", "line 9", "has 3 cells"),
        (lambda t: "", "line 1", "head"),
    ],
)
def test_what_cannot_be_used_is_said_with_line_and_fix(plan, tmp_path, change, place, words):
    path = tmp_path / "readings.csv"
    path.write_text(change(filled(plan, {"fill_time": ("12 min 36 s", "10")})), encoding="utf-8")
    with pytest.raises(ReadingsError) as error:
        read_readings(path, "siphon")
    assert place in str(error.value)
    assert words in str(error.value)
    assert "Fix:" in str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.identity
@pytest.mark.parametrize("content", [None, b"\xff\xfe\x00k", b"x" * 1_000_001])
def test_what_is_no_sheet_is_said(tmp_path, content):
    path = tmp_path / "readings.csv"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(ReadingsError, match="Fix:"):
        read_readings(path, "siphon")


def fill(form, readings):
    for reading in readings:
        for line in form.lines:
            if line.key[2] == reading.what.replace(" ", "_"):
                line.put(reading.value, reading.error)


@pytest.mark.identity
def test_invented_readings_tell_what_they_were_made_with(found):
    for name, factor in BUILT.items():
        e = found.estimate(name)
        assert e.low < factor * e.before < e.high, name


@pytest.mark.identity
@pytest.mark.parametrize("system", ["metric", "us"])
def test_the_form_gives_back_what_is_put_in(plan, readings, system):
    use(system)
    form = ReadingsForm(plan)
    fill(form, readings)
    back = {r.what: r for r in form.readings}
    assert set(back) == {r.what for r in readings}
    for reading in readings:
        assert back[reading.what].value == pytest.approx(reading.value, rel=1e-3)
        assert back[reading.what].error == pytest.approx(reading.error, rel=0.05)
    assert "L/min" in form.lines[2].name.value or "gpm" in form.lines[2].name.value


@pytest.mark.identity
def test_the_form_fits_at_the_press_and_says_what_is_missing(plan, readings):
    form = ReadingsForm(plan)
    form.press()
    assert "no readings" in form.reply.value
    form.lines[0].boxes[0].value = "700"
    form.press()
    assert form.fit is None
    assert "how far off" in form.reply.value
    fill(form, readings)
    form.press()
    assert form.fit is not None
    assert "What the readings say" in form.reply.value
    assert form.fit.plan.pump.flow == pytest.approx(BUILT["inflow"] * plan.pump.flow, rel=0.05)


@pytest.mark.identity
def test_each_reading_answers_to_what_it_should(plan):
    table = {row[0]: row[1:] for row in answers(plan).table.rows}  # porosity, inflow, losses, start
    assert table["jug flow"] == ("–", "+10 %", "–", "–")
    assert table["lowest start"] == ("–", "–", "–", "+10 %")
    assert table["fill time"][1] == "-9 %"  # 1/1.1
    assert table["drain time"][2].startswith("+")
    assert table["highest stop"][2].startswith("-")


@pytest.mark.identity
def test_tables_and_picture_have_the_same_numbers(plan, found):
    text = estimates(found).text
    alt = ranges(found, "metric").alt
    for e in found.estimates:
        from aquacalc.units import show

        assert show(e.value, e.kind) in text
        assert f"{show(e.low, e.kind)} to {show(e.high, e.kind)} now" in alt
    assert len(matches(found).table.rows) == len(found.matches)
    assert [row[0] for row in changes(plan, found).table.rows] == ["as planned", "as fitted"]


@pytest.mark.identity
def test_a_form_made_again_has_what_was_typed_and_other_units_convert_it(plan, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    use("metric")
    form = ReadingsForm(plan)
    form.lines[0].boxes[0].value, form.lines[0].boxes[1].value = "3:38", "5"
    form.lines[2].boxes[0].value, form.lines[2].boxes[1].value = "16.4", "0.4 L/min"
    again = ReadingsForm(plan)
    assert [box.value for box in (again.lines[0].boxes[0], again.lines[0].boxes[1])] == ["3:38", "5"]
    assert again.readings[0].value == 218.0
    use("us")
    assert float(again.lines[2].boxes[0].value) == pytest.approx(16.4 / 3.785411784, rel=1e-3)
    assert "gpm" in again.lines[2].name.value
    assert again.readings[1].value == pytest.approx(16.4 / 60e3, rel=1e-3)
    assert again.readings[1].error == pytest.approx(0.4 / 60e3, rel=1e-3)
    use("metric")
    assert again.readings[1].value == pytest.approx(16.4 / 60e3, rel=1e-3)


@pytest.mark.identity
def test_the_form_saves_the_plan_that_it_fitted_and_says_what_is_new(plan, readings, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "readings.csv").write_text(
        filled(plan, {"jug_flow": ("12", "0.2"), "fill_time": ("16:00", "10")}), encoding="utf-8"
    )
    form = ReadingsForm(plan)  # file -> form
    assert [r.what for r in form.readings] == ["fill time", "jug flow"]
    assert used(form) == form.readings
    assert form.saving.layout.display == "none"
    form.press()
    for words in ("What the readings say", "The plan before and after", "as fitted"):
        assert words in form.reply.value
    form.saving.button.click()
    saved = read_plan("my-plan.toml")
    assert saved.pump.flow == pytest.approx(12 / 60e3, rel=0.02)
    assert saved.pump.flow == form.fit.plan.pump.flow
    form.saving.button.click()
    assert "there already" in form.note.value
    (tmp_path / "readings.csv").unlink()
    assert used(ReadingsForm(plan)) == invented(plan)


@pytest.mark.identity
def test_a_question_mark_in_the_table_is_explained(plan):
    from aquacalc.notebook.tuning_panels import with_flow

    assert not any("question mark" in note for note in answers(plan).table.notes)
    assert any("question mark" in note for note in answers(with_flow(plan, 3 / 60e3)).table.notes)
