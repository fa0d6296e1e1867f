"""The form of eight answers gives the plan of the same answers at the prompt."""

import numpy as np
import pytest

from aquacalc.design.start import QUESTIONS, plan_text
from aquacalc.notebook import demo_plan, use
from aquacalc.notebook.bed_form import BedForm
from aquacalc.notebook.kitchen_form import INVENTED, KitchenForm
from aquacalc.notebook.start_form import StartForm
from aquacalc.plan import plan_from_text, read_plan
from aquacalc.units import UnitError

pytestmark = pytest.mark.identity


def test_form_runs_and_saves_the_plan_of_its_answers(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    form = StartForm()
    assert list(form.boxes) == [question.name for question in QUESTIONS]
    form.boxes["beds"].value = "2"
    form.boxes["length"].value = "wide"
    form.button.click()
    assert "does not begin with a number" in form.reply.value
    form.save.button.click()
    assert "Nothing was saved: " in form.reply.value
    assert not (tmp_path / "my-plan.toml").exists()
    form.boxes["length"].value = "1.5 m"
    form.button.click()
    assert "This plan" in form.reply.value
    assert "Fill the sump to" in form.reply.value
    assert form.save.replace.value is False  # what is there stays unless told
    form.save.button.click()
    assert "Saved as my-plan.toml" in form.reply.value
    meant = plan_from_text(plan_text({"beds": "2", "length": "1.5 m"}))
    assert read_plan(tmp_path / "my-plan.toml").beds == meant.beds
    form.save.button.click()
    assert "is there already" in form.reply.value


def test_form_follows_the_units_and_reads_without_a_kernel():
    form = StartForm()
    form.button.click()
    assert 'role="status"' in form.reply.value
    assert "you have 18" in form.reply.value
    use("us")
    assert form.boxes["flow"].placeholder == "5 gpm"
    assert "you have 5" in form.reply.value
    made = form._repr_mimebundle_()
    assert "Flow of the pump at the beds  " in made["text/plain"]
    assert "<table>" in made["text/html"]


@pytest.mark.parametrize(
    ("line", "typed", "told"),
    [
        ("length", "wide", "Length of the bed inside: "),
        ("depth", "-3", "Height of its wall: &quot;-3 mm&quot; is negative"),
        ("media_depth", "900", "Fix: lower the media or deepen the bed"),
        ("flow", "0", "Fix: give the real flow, above 0"),
        ("standpipe", "2000", "Fix: shorten the standpipe"),
        ("length", "60 in", "The panel has these sizes."),
    ],
)
def test_sizes_of_a_bed_are_used_or_refused(line, typed, told):
    form = BedForm(demo_plan("one-bed"))
    button = next(c for c in form.children if getattr(c, "description", "") == "Use these sizes")
    before = form.panel
    form.lines[line].boxes[0].value = typed
    button.click()
    assert told in form.reply.value
    assert (form.panel is not before) == (typed == "60 in")
    assert form.touched == (typed == "60 in")


def test_the_kitchen_form_asks_for_what_is_missing_once_something_is_typed():
    form = KitchenForm()
    assert form.seen is INVENTED
    assert "These numbers are invented" in form.reply.value
    form.lines[0].boxes[0].value = "20 mm"
    with pytest.raises(UnitError, match="Bore of the pipe under it"):
        assert form.seen
    for line, values in zip(form.lines, zip(*INVENTED, strict=True), strict=True):
        line.put(*(1.1 * x for x in values))
    assert form.seen == pytest.approx(1.1 * np.array(INVENTED), rel=0.02)
    form.show()
    assert "Your numbers." in form.reply.value
