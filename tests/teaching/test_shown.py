"""What a notebook shows: tables, lists, pictures, each with the same in plain text."""

import re

import pytest

from aquacalc.buildsheet.sheet import build_sheet
from aquacalc.catalogue import data_dir
from aquacalc.figures.inflow_window import window
from aquacalc.files import MARK
from aquacalc.notebook import grid, said, shown, steps, units, use
from aquacalc.notebook.table import Grid
from aquacalc.plan import read_plan
from aquacalc.teaching.live_lesson import _Lesson
from tests.test_workbooks_pages import Seen, squeezed


@pytest.fixture(scope="module")
def sheet():
    return build_sheet(read_plan(data_dir() / "plans" / "greenhouse.toml"))


@pytest.mark.identity
def test_every_table_of_the_build_is_the_same_in_html_and_text(sheet):
    for table in sheet.tables:
        made = Grid(table)
        seen = Seen(made.html)
        assert len(seen.all("th")) == len(table.columns)
        assert all(attrs["scope"] == "col" for attrs in seen.all("th"))
        assert len(seen.all("caption")) == 1
        cells = [c for row in table.rows for c in row]
        assert len(seen.all("td")) == len(cells) + len(table.total)
        for cell in cells:
            assert cell in made.text
            assert squeezed(cell) in squeezed(seen.text)


@pytest.mark.identity
def test_cells_cannot_become_markup():
    made = grid("<b>", ["<i>"], [["<script>1</script>"]], "<p>")
    assert "<script>" not in made.html
    assert "&lt;script&gt;" in made.html
    assert "<script>" not in said(["<script>"]).html


@pytest.mark.identity
def test_a_narrow_table_breaks_between_words_and_not_before_a_unit():
    cells = [
        "17.1 L/min to 35.6 L/min",
        "seal, 1-1/2 in",
        "1 in a row",
        "level_at_break",
        "5 min 2 s",
        "12 minutes",
    ]
    made = grid("", ["a"], [[cell] for cell in cells])
    whole = re.findall(r'<span style="white-space:nowrap">(.*?)</span>', made.html)
    assert whole == ["17.1 L/min", "35.6 L/min", "1-1/2 in", "1 in", "5 min", "2 s"]
    assert "level_<wbr>at_<wbr>break" in made.html
    assert all(cell in Seen(made.html).text for cell in cells)


@pytest.mark.identity
def test_steps_keep_their_cautions_and_blanks(sheet):
    made = steps(sheet.steps)
    for step in sheet.steps:
        for words in (step.title, step.text, *step.cautions):
            assert words in made.text
            assert words in Seen(made.html).text
    assert steps(sheet.checks).text.count("[ ]") == sum(len(c.blanks) for c in sheet.checks)


@pytest.mark.identity
def test_a_text_becomes_a_line_each():
    made = said("One.\n- Two.")
    assert made.text == "One.\n- Two."
    assert made.html == "<p>One.</p><ul><li>Two.</li></ul>"
    assert said(["One.", "Two."]).html == "<ul><li>One.</li><li>Two.</li></ul>"


@pytest.mark.identity
def test_what_a_function_gives_is_shown_again_in_the_readers_units(monkeypatch):
    seen = []

    class Place:
        def __init__(self, thing, **how):
            self.update(thing)

        def update(self, thing):
            seen.append(thing.text)

    monkeypatch.setattr("aquacalc.notebook.showing.display", Place)
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    held = shown(lambda p: f"{p.units}, {units()}", plan)
    held._ipython_display_()
    use("us")
    use("metric")
    assert seen == ["metric, metric", "us, us", "metric, metric"]


@pytest.mark.identity
def test_a_picture_has_its_words():
    from aquacalc.results.cycle import run_plan
    from aquacalc.results.window import inflow_window

    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    picture = window(inflow_window(plan, plan.siphons[0], run_plan(plan)), "metric")
    bundle = shown(picture)._repr_mimebundle_()
    (image,) = Seen(bundle["text/html"]).all("img")
    assert image["alt"] == picture.alt == bundle["text/plain"]
    assert image["src"].startswith("data:image/svg+xml;base64,")


@pytest.mark.identity
@pytest.mark.parametrize(("source", "shown"), [
    ("x = 3", ""), ("# nothing", ""), ("x = 3\nx + 1", "4"), ("'one word'", "one word"),
    ("print('said')", "said"), ("None", ""), ("x: int = 3", ""), ("x = 3\nx\ny = 4", ""),
])  # fmt: skip
def test_a_cell_of_a_lesson_shows_its_last_expression_only(source, shown, tmp_path):
    made = _Lesson(tmp_path, "metric", None).cell(source)
    assert bool(made) == bool(shown)
    assert shown in made


@pytest.mark.identity
def test_the_next_lesson_is_linked_where_its_page_is_ours(tmp_path):
    lesson = _Lesson(tmp_path, "metric", tmp_path)
    (tmp_path / "05-theirs.html").write_text("theirs")
    assert "<a" not in lesson.onward("T", "05-theirs")
    assert "<a" not in lesson.onward("T", "04-none")
    for name in ("06.html", "06-next.html"):
        (tmp_path / name).write_text(f'<head>{MARK} 0.1.0"></head>')
        assert f'<a href="{name}">' in lesson.onward("T", "06-next")
    assert "<a" not in _Lesson(tmp_path, "metric", None).onward("T", "06-next")
