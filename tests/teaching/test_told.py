"""What a learner is told, word for word: replies, guesses, faults, scores, pages, markup."""

import base64
import json
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from aquacalc.files import MARK
from aquacalc.notebook.reader_units import UnitSwitch
from aquacalc.teaching import fault, guessing, handout, live_lesson, score
from aquacalc.teaching.checking import _check_number, check
from aquacalc.teaching.clean import clean
from aquacalc.teaching.exercise import exercise
from aquacalc.teaching.fault import BUDGET, FAULTS, SURE, FaultHunt, calibration, mistaken
from aquacalc.teaching.learner import without_answers

pytestmark = pytest.mark.identity
CLOSE = "The way is right; a step was rounded too early. Keep one digit more until the end."
SLIPPED = (
    "The digits are right, but it is {}: a decimal point slipped, or one unit was taken for another (cm for "
    "mm, m³ for L)."
)
MINUTES = "minutes were taken for seconds, or the other way."
GALLONS = "US gallons were taken for litres, or the other way."
HOURS = "hours were taken for seconds, or the other way."
UNIT = "look at its unit before it goes into the formula."


@pytest.mark.parametrize(
    ("key", "given", "said"),
    [
        # a bore of 40.9 mm is 13.138 cm²
        ("bore", "13.8 cm2", f"Close: 5 % off. {CLOSE}"),
        ("bore", "13.92 cm2", f"Close: 6 % off. {CLOSE}"),  # 5.95 %
        ("bore", "12.36 cm2", f"Close: 6 % off. {CLOSE}"),  # 5.92 % too little
        ("bore", "4.18 cm2", "It is 3.1 times too small: look for π."),
        ("bore", "41.3 cm2", "It is 3.1 times too large: look for π."),
        ("bore", "84.8 sq cm", "It is 6.5 times too large: square inches were taken for square centimetres, "
                               "or the other way."),
        ("bore", "131.4 cm2", SLIPPED.format("10 times too large")),
        ("bore", "132.6 cm2", SLIPPED.format("10 times too large")),  # 10.09
        ("bore", "1.3138 cm2", SLIPPED.format("10 times too small")),
        # 18 L/min
        ("jug", "0.3 L/min", f"It is 60 times too small: {MINUTES}"),
        ("jug", "1080 L/min", f"It is 60 times too large: {MINUTES}"),
        ("jug", "64800 L/min", f"It is 3600 times too large: {HOURS}"),
        ("jug", "68.1 L/min", f"It is 3.8 times too large: {GALLONS}"),
        # 7.5 min
        ("fill", "7.5 s", f"It is 60 times too small: {MINUTES}"),
        # 9.37 L/min; a bore of 26.6 mm goes in by its 2.5th power, 316
        ("choking", "2963 L/min", f"That comes out when the bore is taken 10 times too large: {UNIT}"),
        ("choking", "0.02963 L/min", f"That comes out when the bore is taken 10 times too small: {UNIT}"),
        ("choking", "2.99 L/min", "It is 3.1 times too small: look for π or the root of g."),
        ("bend", "182 mm", "That comes out without g, 9.81 m/s²."),
    ],
)  # fmt: skip
def test_a_slip_is_named_with_how_far_off_it_is(key, given, said):
    assert check(key, given).said == said


@pytest.mark.parametrize(
    ("key", "given", "begins"),
    [
        ("cycle", "49 min", "Not yet: 4.5 times too large. "), ("cycle", "15 min", "Not yet: too large. "),
        ("cycle", "21.9 min", "Not yet: too large. "), ("cycle", "22.1 min", "Not yet: 2 times too large. "),
        ("cycle", "7 min", "Not yet: too small. "), ("cycle", "5.4 min", "Not yet: 2 times too small. "),
        ("cycle", "0 min", "It is not zero. "), ("bore", "13.94 cm2", "Not yet: too large. "),  # 6.1 %
        ("bore", "12.34 cm2", "Not yet: too small. "),
        ("bore", "124.5 cm2", "Not yet: 9.5 times too large. "),
        ("bore", "125.5 cm2", "Not yet: 10 times too large. "),  # 9.55
        ("bore", "133.0 cm2", "Not yet: 10 times too large. "),  # 10.12 is no slip of ten
    ],
)  # fmt: skip
def test_what_is_only_wrong_says_which_way_and_from_twice_on_how_far(key, given, begins):
    assert check(key, given).said == f"{begins}{exercise(key).hint}"


@pytest.mark.parametrize(
    ("given", "many"),
    [("13.14 cm2", False), ("13.138 cm2", True), ("0.001314 m2", False), ("0.0013138 m2", True),
     ("1.314e-3 m2", False), ("1.3138e-3 m2", True), ("13.1 cm2", False)],
)  # fmt: skip
def test_more_than_four_digits_get_a_word(given, many):
    more = " Three digits are enough: the coefficients and your tape are not surer than that."
    assert check("bore", given).said == ("Right." + more if many else "Right.")


def test_swapped_values_and_radii_are_named():
    """The bed's water is porosity * area * depth: 0.45 * 1.8 * 0.23; the depth of a bore is no diameter."""
    assert check("weight", "308 kg/m2").slip == "swapped"
    assert " swapped." in check("weight", "308 kg/m2").said
    for given, word in (("52.6 cm2", "twice"), ("3.28 cm2", "half")):
        said = check("bore", given).said
        assert said.startswith(f"That comes out with {word} the "), said
        assert said.endswith("a diameter and a radius were taken for each other.")


def test_a_signed_quantity_with_the_wrong_sign_is_said_to_have_it():
    """The height of a lip over the water may be negative: of -2 m the digits of 2 m are right."""
    asked = exercise("jug")

    class Turned:
        """The same exercise with an answer below zero, of a kind that has a sign."""

        kind, tolerance, slips, values, wanted, hint = "elevation", 0.03, (), {}, asked.wanted, "Think."
        equation = asked.equation

        @staticmethod
        def answer(**changed):
            return -2.0

    assert _check_number(Turned, "-2 m").said == "Right."
    assert _check_number(Turned, "2 m").said == "The size is right and the sign is not."
    assert _check_number(Turned, "-2.1 m").verdict == "close"
    assert _check_number(Turned, "0.5 m").said == "Not yet: too large. Think."


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("", "No answer yet. Write a number and its unit, in L/min or gpm for example."),
        ("18", "The number is right in one unit, but which? Write the unit too, L/min or gpm for example."),
        ("18.6", "Which unit is that in? Write the unit too, L/min or gpm for example."),
        ("18.5", "The number is right in one unit, but which? Write the unit too, L/min or gpm for "
                 "example."),
        ("18 kg", '"kg" does not measure what is asked for: that is counted in L/min or gpm. The number '
                  "itself is right in one of those."),
        ("99 kg", '"kg" does not measure what is asked for: that is counted in L/min or gpm.'),
        ("kg", '"kg" does not begin with a number.'),
    ],
)  # fmt: skip
def test_an_answer_that_cannot_be_read_says_what_is_missing(given, said):
    assert check("jug", given).said == said


def test_time_is_asked_for_in_seconds_or_minutes_and_a_ratio_as_a_plain_number():
    assert check("fill", "").said.endswith("in s or min for example.")
    assert check("open ratio", "").said == "No answer yet. Write a plain number."
    assert check("which bend", "").said.startswith("No answer yet. Write one of a, b")


# Guesses


@pytest.mark.parametrize(("number", "there"), [(-1, False), (0, True), (1, True), (2, True), (3, False)])
def test_a_kept_guess_is_one_of_the_choices(tmp_path, monkeypatch, number, there):
    monkeypatch.chdir(tmp_path)
    asked = guessing.GuessAsked("k", "Which?", ("one", "two", "three"), "two", "of this.")
    guessing.MINE.write_text(json.dumps({"k": number, "other": True}))
    assert guessing.given() == {"k": number}  # True is no number
    assert asked.mine == (("one", "two", "three")[number] if there else None)
    guessed = ("so it is" if number == 1 else "It is: two") if there else "No guess yet"
    assert guessed.lower() in asked.met().lower()


def test_what_was_guessed_is_not_asked_again_on_paper(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(guessing, "_asked", {})
    monkeypatch.setattr(guessing, "_open", [])
    first, second = (guessing.guess(key) for key in list(guessing.questions())[:2])
    end = guessing.guesses()

    def paper():
        return end._repr_mimebundle_()["text/html"]

    assert paper().count("<p>Because: ") == 2
    assert first.box is first.box
    first.choice.value = first.asked.choices[0]
    first.button.click()
    assert paper().count("<p>Because: ") == 1
    assert second.asked.sheet in paper()
    assert first.asked.sheet not in paper()
    second.give(second.asked.right) if second.box else None
    assert paper() == end.html
    assert "Kept." in second.reply.value


# Scores


@pytest.mark.parametrize(
    ("before", "after", "people", "gained"),
    [(4, 7, 10, ("4 of 10", "7 of 10", "50%")), (4, 4, 10, ("4 of 10", "4 of 10", "0%")),
     (7, 4, 10, ("7 of 10", "4 of 10", "-100%")), (10, 10, 10, ("10 of 10", "10 of 10", "")),
     (0, 0, 0, ("", "", ""))],
)  # fmt: skip
def test_what_is_gained_is_a_part_of_what_could_be(before, after, people, gained):
    assert score._gain(before, after, people) == gained


def test_a_score_counts_each_question_and_all_together(tmp_path, monkeypatch):
    """Of seven questions and ten people: the first goes from 2 to 6, the others stay at 5."""
    monkeypatch.chdir(tmp_path)
    form = score.ScoreForm()
    form.people.value = 10
    for k, (before, after) in enumerate(form.boxes.values()):
        before.value, after.value = (5, 5) if k else (2, 6)
    rows, many = form.table.table.rows, len(form.boxes)
    assert [row[1:] for row in rows[:2]] == [("2 of 10", "6 of 10", "50%"), ("5 of 10", "5 of 10", "0%")]
    assert rows[0][0].startswith("A. ")
    whole, room = 10 * many, 10 * many - 2 - 5 * (many - 1)
    assert rows[-1] == ("all", f"{2 + 5 * (many - 1)} of {whole}", f"{6 + 5 * (many - 1)} of {whole}",
                        f"{4 / room:.0%}")  # fmt: skip
    form.boxes["belief lip"][0].value = 10
    form.press()
    assert "Fix" not in form.reply.value  # all of them may be right
    assert score.ScoreForm().boxes["belief lip"][0].value == 10
    kept = json.loads(score.MINE.read_text())
    kept["belief lip"] = [3]  # half a pair counts for nothing
    score.MINE.write_text(json.dumps(kept))
    again = score.ScoreForm()
    assert [box.value for box in again.boxes["belief lip"]] == [0, 0]
    assert again.people.value == 10
    form.boxes["belief lip"][0].value = 11
    form.press()
    assert "Fix: correct one of the two." in form.reply.value


# Faults


def test_five_readings_are_taken_and_one_again_costs_nothing(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(fault, "reading", lambda key, what: 1.0)
    hunt, taken = FaultHunt(), list(fault.READINGS)
    hunt.buy(taken[0])
    assert "Give a name first" in hunt.seen.value
    assert (hunt.bought, hunt.name.disabled) == ([], False)
    hunt.name.value = "one"
    for k, what in enumerate(taken[:BUDGET]):
        hunt.buy(what)
        assert hunt.name.disabled
        left = BUDGET - 1 - k
        assert f"<p>{left} {'reading' if left == 1 else 'readings'} left.</p>" in hunt.seen.value
        hunt.buy(what)
        assert len(hunt.bought) == k + 1
    hunt.buy(taken[BUDGET])
    assert "All 5 readings are taken." in hunt.seen.value
    assert hunt.bought == taken[:BUDGET]


def test_the_pump_of_a_fault_gives_a_quarter_less_and_so_on():
    """Each fault changes what it says, on the demo plan: 20 L/min, porosity 0.45, 28 slots."""
    was = fault.demo_plan()
    changed = {key: one.put(was) for key, one in FAULTS.items()}
    assert changed["pump"].pump.flow == pytest.approx(0.75 * was.pump.flow)
    for old, new in zip(was.beds, changed["media"].beds, strict=True):
        assert new.media.porosity == pytest.approx(0.8 * old.media.porosity)
    assert {run.pipe.size for run in changed["line"].runs} == {"1 in"}
    (siphon,) = changed["bore"].siphons
    assert (siphon.standpipe.pipe.size, siphon.tail.pipe.size) == ("3/4 in", "3/4 in")
    assert any(f.name == "bend 90, sharp" for f in changed["tail"].siphons[0].tail.fittings)


def test_the_teachers_tables_count_what_was_taken_for_what():
    """Twice the pump for the media, once right: the most frequent first; 1 of 2 and 0 of 1 are right."""
    said = [("pump", "media", 95), ("line", "line", 50), ("pump", "media", 50)]
    found = [{"fault": a, "said": b, "sure": sure} for a, b, sure in said]
    pump, media, line = (FAULTS[key].words for key in ("pump", "media", "line"))
    assert mistaken(found).table.rows == ((pump, media, "2"), (line, "right", "1"))
    assert [row[1:] for row in calibration(found).table.rows] == [
        ("0", ""), ("2", "1 of 2"), ("0", ""), ("1", "0 of 1"),
    ]  # fmt: skip
    assert [row[0] for row in calibration(found).table.rows] == [f"{sure} in 100" for sure in SURE]
    assert mistaken([]).table.rows == (("no files", "", ""),)


@pytest.mark.parametrize("wrong", [{"fault": "x"}, {"said": "x"}, {"sure": 51}])
def test_a_file_of_no_known_fault_is_refused(tmp_path, wrong):
    good = {"fault": "pump", "said": "media", "sure": 50, "bought": []}
    (tmp_path / "fault-1.sealed").write_text(fault.seal(good))
    assert fault.hunts(tmp_path) == [good]
    (tmp_path / "fault-2.sealed").write_text(fault.seal(good | wrong))
    with pytest.raises(fault.Failure, match=r"fault-2\.sealed: is not a sealed fault"):
        fault.hunts(tmp_path)


# Handouts, markup and lessons


def shown(data, **metadata):
    return handout.shown_output(new_output("display_data", data=data, metadata=metadata), Path())


def test_an_output_is_shown_in_its_best_form():
    every = {"text/plain": "plain", "image/png": "AAAA", "text/html": "<b>html</b>", "text/markdown": "*md*"}
    assert shown(every) == '<div class="scroll"><b>html</b></div>'
    assert shown({k: v for k, v in every.items() if k != "text/html"}).strip() == "<p><em>md</em></p>"
    assert shown({"text/plain": ["a <", "b\n"]}) == "<pre>a &lt;b</pre>"
    assert shown({"text/plain": "  \n"}) == ""
    assert shown({"application/x": "1"}) == ""
    assert shown({"text/plain": "<Figure size 1>", "image/png": "AAAA"}).count("figcaption") == 0
    assert "<figcaption>Starts.</figcaption>" in shown({"text/plain": "Starts.", "image/png": "AAAA"})
    svg = shown({"image/svg+xml": '<?xml version="1.0"?><svg width="1"></svg>'})
    assert svg == '<figure><svg width="1"></svg></figure>'
    for metadata in ({"image/png": {"alt": "A dot."}}, {"alt": "A dot."}):
        assert 'alt="A dot."' in shown({"image/png": "AAAA"}, **metadata)
    stream = new_output("stream", name="stdout", text="\x1b[31mred\x1b[0m \n")
    assert handout.shown_output(stream, Path()) == "<pre>red</pre>"
    error = new_output("error", ename="E", evalue="v", traceback=["one", "two"])
    assert handout.shown_output(error, Path()) == "<pre>one\ntwo</pre>"


def test_rows_of_math_stand_under_each_other_and_what_is_none_stays_as_written():
    rows = handout._math("\\begin{aligned} a &= 1 \\\\ b &= 2 \\\\ \\end{aligned}")
    assert rows.count("<math") == 2
    assert "&amp;" not in rows
    assert handout._math("a = 1").count("<math") == 1
    assert "<code>" in handout._mathml("\\begin{nothing")
    inline = handout._markdown("so $x = 1$ it is", {})
    assert "<math" in inline
    assert "displaystyle" not in inline


def test_a_page_has_a_name_field_for_learners_only_and_the_link_above_it():
    book = new_notebook(cells=[new_markdown_cell("no title"), new_markdown_cell("# Two\n\n## Three"),
                               new_code_cell("   "), new_code_cell("x = 1 < 2")])  # fmt: skip
    assert handout.title_of(book, "name.ipynb") == "Two"
    assert handout.title_of(new_notebook(cells=[new_code_cell("# No")]), "name.ipynb") == "name.ipynb"
    page = handout.handout(book, "a.ipynb", Path())
    assert "Name: " not in page
    assert "with sliders" not in page
    assert page.count('<details class="code">') == 1
    assert "x = 1 &lt; 2" in page
    page = handout.handout(without_answers(book)[0], "a.ipynb", Path(), "b 1.html")
    assert page.index('<a href="b%201.html">This lesson with sliders</a>: b 1.html') < page.index("Name: ")


def test_answers_are_counted_and_a_teachers_cell_is_none():
    book = new_notebook(cells=[
        new_markdown_cell("<details><summary>Answer</summary>1</details>\n"
                          "<details>\n<summary><b>Answer</b> two</summary>2</details>kept"),
        new_code_cell('solution("it")'), new_code_cell("x", metadata={"tags": ["answer"]}),
        new_markdown_cell('solution("it")'), new_code_cell("y", metadata={"tags": ["teacher"]}),
        new_code_cell("z", metadata={"tags": ["teacher", "answer"]}),
    ])  # fmt: skip
    made, taken = without_answers(book)
    assert taken == 5
    assert [cell.source for cell in made.cells] == ["kept", 'solution("it")']
    assert made.metadata["aquacalc"] == {"copy": "learner"}
    assert len(book.cells) == 6


@pytest.mark.parametrize(
    ("markup", "kept"),
    [
        ('<a href="#x">a</a>', '<a href="#x">a</a>'), ('<a href="HTTP://x.org">a</a>', '<a href="HTTP://x.org">a</a>'),
        ('<a href="mailto:a@b.org">a</a>', '<a href="mailto:a@b.org">a</a>'),
        ('<a href="data:image/png;base64,AA">a</a>', "<a>a</a>"),
        ('<p href="https://x.org">a</p>', "<p>a</p>"),
        ('<svg><image href="data:image/png;base64,AA"></image></svg>',
         '<svg><image href="data:image/png;base64,AA"></image></svg>'),
        ('<svg><image href="https://x.org/a.png"></image></svg>', "<svg><image></image></svg>"),
        ('<svg><image src="data:image/png;base64,AA"></image></svg>', "<svg><image></image></svg>"),
        ('<p style="color: red">a</p>', '<p style="color: red">a</p>'),
        ('<p style="background: url(https://x.org)">a</p>', "<p>a</p>"),
        ('<img alt=" ">', "<em>[picture: not in the workbook]</em>"),
        ("<img>", "<em>[picture: not in the workbook]</em>"),
        ('<img alt=" a dot ">', "<em>[picture: a dot]</em>"),
        ("<details><p>a</p></details>", '<details open=""><p>a</p></details>'),
    ],
)  # fmt: skip
def test_of_addresses_only_harmless_ones_stay(markup, kept):
    assert clean(markup, Path()) == kept


def test_a_picture_has_to_be_one_and_lie_in_the_folder(tmp_path, monkeypatch):
    (tmp_path / "a b.png").write_bytes(b"1234")
    (tmp_path / "a.txt").write_bytes(b"1234")
    (tmp_path / "dir.png").mkdir()
    data = f'<img src="data:image/png;base64,{base64.b64encode(b"1234").decode()}" alt="x">'
    for source in ("a%20b.png", "a b.png#part", "a%20b.png?size=2", "./a%20b.png"):
        assert clean(f'<img src="{source}" alt="x">', tmp_path) == data, source
    for source in ("a.txt", "dir.png", "b.png", "", "//x.org/a.png", "https://x.org/a.png", "FILE:a.png"):
        assert clean(f'<img src="{source}" alt="x">', tmp_path) == "<em>[picture: x]</em>", source
    for most, there in ((4, True), (3, False)):
        monkeypatch.setattr("aquacalc.teaching.clean._LARGEST_PICTURE", most)
        assert (clean('<img src="a%20b.png" alt="x">', tmp_path) == data) == there


def lesson(beside=None, folder=Path()):
    return live_lesson._Lesson(folder, "metric", beside)


def test_a_lesson_links_the_next_where_its_page_is(tmp_path):
    words = "<p>Next: <strong>A &amp; B</strong>, a workbook of the set.</p>"
    assert lesson().onward("A & B", "05-drains") == words
    assert lesson(tmp_path).onward("A & B", "05-drains") == words
    (tmp_path / "05.html").write_text("theirs")
    assert lesson(tmp_path).onward("A & B", "05-drains") == words
    (tmp_path / "05.html").write_text(f'{MARK} 1">')
    assert lesson(tmp_path).onward("A & B", "05-drains") == (
        '<p>Next: <a href="05.html"><strong>A &amp; B</strong></a>.</p>'
    )
    (tmp_path / "05-drains.html").write_text(f'{MARK} 1">')
    assert 'href="05-drains.html"' in lesson(tmp_path).onward("A & B", "05-drains")


def test_a_lessons_cell_shows_what_it_prints_and_its_last_value():
    run = lesson()
    assert run.cell("a = 2\nprint('<', a)\nprint('There is no plan.toml here yet. Use it.')") == (
        "<pre>&lt; 2\nUse it.\n</pre>"
    )
    assert run.cell("a + 1") == '<div class="out"><pre>3</pre></div>'
    assert run.cell("print('x')\na") == '<pre>x\n</pre><div class="out"><pre>2</pre></div>'
    assert run.cell("None") == ""
    assert run.cell("# nothing") == ""
    assert run.shown(UnitSwitch.__new__(UnitSwitch)) == ""
    run.scope["b"] = type("Both", (), {"_repr_html_": lambda s: "<b>h</b>", "_repr_latex_": lambda s: None})()
    assert run.cell("b") == '<div class="out"><div class="scroll"><b>h</b></div></div>'
    bundle = ({"text/html": "<i>m</i>", "x": 1}, {"x": {}})
    run.scope["b"] = type("Bundle", (), {"_repr_mimebundle_": lambda s: bundle})()
    assert run.cell("b") == '<div class="out"><div class="scroll"><i>m</i></div></div>'


def test_a_lesson_of_prose_says_once_where_its_forms_are():
    book = new_notebook(cells=[
        new_markdown_cell("# One\n\nChoose **Run, Run All Cells** above, and then look."), new_code_cell(" "),
        new_markdown_cell("<details><summary>s</summary>b</details>"), new_code_cell("1"),
        new_markdown_cell("Next: [**Two & on**](05-x.ipynb)."), nbformat.v4.new_raw_cell("raw"),
    ])  # fmt: skip
    parts = lesson().parts(book)
    assert "Then look." in parts[0]
    assert [k for k, part in enumerate(parts) if part == live_lesson._HERE] == [1]
    assert len(parts) == 6
    assert "<details>" in parts[2]
    assert parts[-1] == "<p>Next: <strong>Two &amp; on</strong>, a workbook of the set.</p>"
    assert "Next" not in parts[-2]


def test_a_style_sheet_stands_once_in_a_page():
    a, b = "<style>a</style>", "<style>b</style>"
    assert live_lesson._styled_once(f"0{a}1{b}2{a}3") == f"0{a}1{b}23"
    assert live_lesson._styled_once("none") == "none"
