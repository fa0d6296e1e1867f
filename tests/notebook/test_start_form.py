"""The form of eight answers gives the plan of the same answers at the prompt."""

import pytest

from aquacalc.design.start import QUESTIONS, plan_text
from aquacalc.notebook.start_form import StartForm
from aquacalc.plan import plan_from_text, read_plan

pytestmark = pytest.mark.identity


def test_form_runs_and_saves_the_plan_of_its_answers(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    form = StartForm()
    assert list(form.boxes) == [question.name for question in QUESTIONS]
    form.boxes["beds"].value = "2"
    form.boxes["length"].value = "wide"
    form.button.click()
    assert "does not begin with a number" in form.reply.value
    form.boxes["length"].value = "1.5 m"
    form.button.click()
    assert "This plan" in form.reply.value
    assert "Fill the sump to" in form.reply.value
    form.save.button.click()
    assert "Saved as my-plan.toml" in form.reply.value
    meant = plan_from_text(plan_text({"beds": "2", "length": "1.5 m"}))
    assert read_plan(tmp_path / "my-plan.toml").beds == meant.beds
    form.save.button.click()
    assert "is there already" in form.reply.value
