"""The workshop: questions that pictures answer, a score that stays here, a fault that can be found."""

import itertools
import json
import re

import nbformat
import pytest

from aquacalc.failure import Failure
from aquacalc.notebook.panel_pictures import Section
from aquacalc.notebook.saved_readings import ERRORS
from aquacalc.teaching import ScoreForm, ask, calibration, hunts, mistaken, solution
from aquacalc.teaching.exercise import beliefs
from aquacalc.teaching.fault import BUDGET, FAULTS, FaultHunt, reading, seal, sealed
from aquacalc.teaching.guessing import questions
from aquacalc.teaching.handout import handout
from aquacalc.teaching.learner import without_answers
from aquacalc.teaching.pictures import PICTURES
from tests.test_workbooks_pages import Seen
from tests.workbook_run import WORKBOOKS

BOOK = WORKBOOKS / "09-workshop.ipynb"


@pytest.fixture(autouse=True)
def own_folder(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def book():
    return nbformat.read(BOOK, as_version=4)


@pytest.mark.identity
def test_each_question_has_a_picture_and_an_answer_to_each_wrong_belief():
    assert len(beliefs()) >= 8
    for key, asked in beliefs().items():
        assert asked.picture in PICTURES, key
        assert {s.choice for s in asked.slips} == set(asked.choices) - {asked.right}, key
    assert {asked.picture for asked in beliefs().values()} == set(PICTURES)


@pytest.mark.identity
def test_the_picture_comes_with_the_reply_and_not_before():
    question = ask("belief wide pipe", "A")
    _, row, reply = question.box.children
    assert "<img" not in str(question._repr_mimebundle_())
    row.children[0].value = "a"
    assert "No. That is why it does not fill" in reply.value
    assert "Wide all the way" in reply.value  # the alt text of the picture
    assert "A. A wider pipe" in solution("belief wide pipe", "A").text


@pytest.mark.identity
def test_what_the_pictures_show():
    shown = {name: draw().alt for name, draw in PICTURES.items()}
    assert "Plain end, lip 26.6 mm, bore 26.6 mm: should start" in shown["three pipes"]
    assert "Wide all the way, lip 40.9 mm, bore 40.9 mm: trickles" in shown["three pipes"]
    assert "none at" in shown["floods"]
    assert "strainer 3.9 mm" in shown["head"]  # of 714 mm
    assert "siphoning" in shown["suction"]


@pytest.mark.identity
def test_the_score_stays_in_a_file_here_and_is_said_to_be_unmeasured(tmp_path):
    form = ScoreForm()
    form.people.value = 10
    for before, after in form.boxes.values():
        before.value, after.value = 4, 7
    form.press()
    assert "4 of 10" in form.reply.value
    assert form.table.table.rows[-1][-1] == "50%"
    assert "unmeasured" in form.table.text
    assert json.loads((tmp_path / "group-score.json").read_text())["people"] == 10
    again = ScoreForm()
    assert [box.value for box in again.boxes["belief lip"]] == [4, 7]
    again.boxes["belief lip"][1].value = 11
    again.press()
    assert "more were right than there are people" in again.reply.value
    (tmp_path / "group-score.json").write_text('{"people": "many"}')
    assert ScoreForm().people.value == 0


@pytest.mark.identity
def test_every_two_faults_can_be_told_apart_by_what_may_be_read():
    seen = {key: {what: reading(key, what) for what in ERRORS} for key in FAULTS}
    for one, other in itertools.combinations(FAULTS, 2):
        apart = [w for w, error in ERRORS.items() if abs(seen[one][w] - seen[other][w]) > 3.0 * error]
        assert apart, (one, other)
    assert {sealed(f"learner {k}") for k in range(60)} == set(FAULTS)
    assert sealed(" Ann ") == sealed("ann")


@pytest.mark.identity
def test_a_hunt_from_readings_to_the_teachers_table(tmp_path):
    hunt = FaultHunt()
    hunt.buy("jug flow")
    assert "Give a name first" in hunt.seen.value
    hunt.name.value = "learner 1"
    hunt.commit("pump", 95)
    assert "Take a reading first" in hunt.seen.value
    for what in list(ERRORS)[:BUDGET]:
        hunt.buy(what)
    hunt.commit(hunt.cause.value, hunt.sure.value)  # nothing is chosen for the learner
    assert "Choose a cause and how sure" in hunt.seen.value
    hunt.buy(what)
    assert "0 readings left" in hunt.seen.value
    hunt.buy("highest stop")
    assert len(hunt.bought) == BUDGET
    fault = sealed("learner 1")
    assert FAULTS[fault].shows not in str(hunt._repr_mimebundle_())
    wrong = next(key for key in FAULTS if key != fault)
    hunt.commit(wrong, 95)
    told = hunt.reply.children[0].value
    assert f"It is: {FAULTS[fault].words}" in told
    assert f"You said: {FAULTS[wrong].words}" in told
    panel = hunt.reply.children[1]
    assert panel.chooser.value is Section  # the water itself comes first
    assert panel.saving.layout.display == "none"
    (path,) = tmp_path.glob("fault-*.sealed")
    text = path.read_text()
    hunt.commit(fault, 50)  # the first one counts
    again = FaultHunt()  # after the kernel was started again too
    again.name.value = "Learner 1 "
    again.buy("jug flow")
    again.commit(fault, 50)
    assert "has committed already" in again.seen.value
    assert path.read_text() == text
    assert "learner" not in text
    assert fault not in text
    other = {"fault": fault, "said": fault, "sure": 50, "bought": ["jug flow"]}
    (tmp_path / "fault-2.sealed").write_text(seal(other))
    found = hunts()
    assert sorted(row[1:] for row in mistaken(found).table.rows) == sorted(
        [(FAULTS[wrong].words, "1"), ("right", "1")]
    )
    assert [row[2] for row in calibration(found).table.rows] == ["", "1 of 1", "", "0 of 1"]
    (tmp_path / "fault-3.sealed").write_text("nothing")
    with pytest.raises(Failure, match=r"fault-3\.sealed: is not a sealed fault"):
        hunts()


@pytest.mark.identity
def test_the_learners_handout_has_a_name_field_room_formulas_and_nothing_given_away(book):
    made, _ = without_answers(book)
    page = handout(made, BOOK.name, BOOK.parent)
    text = Seen(page).text
    assert "Name:" in text
    assert "Name:" not in Seen(handout(book, BOOK.name, BOOK.parent)).text
    assert page.count("height:7em") == 15  # under each calculation
    assert "Sheet of formulas" in text
    assert len(re.findall("<math", page.split("Sheet of formulas")[1])) > 50  # formulas and their signs, set
    for asked in (*beliefs().values(), *questions().values()):
        assert asked.why not in text
    for asked in beliefs().values():
        assert not any(slip.say in text for slip in asked.slips)
    for gone in ("Plan for 90 minutes", "When nothing starts", "The bore decides at which flow", "Key\n"):
        assert gone not in text
    assert not any("### Answers" in c.source or c.source.startswith("## Key") for c in made.cells)


@pytest.mark.identity
def test_the_teachers_copy_has_plans_kit_safety_and_a_numbered_key(book):
    text = "\n".join(c.source for c in book.cells if c.cell_type == "markdown")
    for plan, total in (("90 minutes", 90), ("three hours", 180)):
        rows = text.split(f"## Plan for {plan}")[1].split("\n## ")[0]
        times = [
            line.split("|")[1:3] for line in rows.splitlines() if line.startswith(("| 0:", "| 1:", "| 2:"))
        ]
        at = 0
        for start, minutes in times:
            hours, _, rest = start.strip().partition(":")
            assert 60 * int(hours) + int(rest) == at, (plan, start)
            at += int(minutes)
        assert at == total
    assert "bell jar" in text
    assert "| for 6 | for 20 |" in text
    assert "residual-current device" in text
    assert "The vote again" in text
    assert questions()["which-starts-lower"].question.split("?")[0].split(". ")[0] in "\n".join(
        o.data["text/plain"] for c in book.cells for o in c.get("outputs", ()) if "data" in o
    )
    asked = [c.source[4:] for c in book.cells if c.source.startswith("ask(")]
    assert [c.source[9:] for c in book.cells if c.source.startswith("solution(")] == asked  # same numbers
