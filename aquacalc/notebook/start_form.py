"""A first plan from eight answers, as a form: what it does, and a file for the next workbooks."""

from __future__ import annotations

from html import escape

import ipywidgets as w

from aquacalc.design.start import QUESTIONS, plan_text
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.save_row import SaveRow
from aquacalc.plan.model import Plan
from aquacalc.plan.read import plan_from_text
from aquacalc.plan.write import save_plan
from aquacalc.report.content import build_report
from aquacalc.report.summary import facts
from aquacalc.report.text import verdict


class StartForm(w.VBox):
    """The questions of `aquacalc start`, each with its usual answer; an empty box takes that."""

    def __init__(self):
        self.boxes = {
            question.name: w.Text(
                placeholder=question.usual[units()],
                description=f"{question.asks} ({question.why})",
                tooltip=f"{question.asks}; left empty: {question.usual[units()]}",
                style={"description_width": "26em"},
                layout={"width": "44em", "max_width": "100%"},
            )
            for question in QUESTIONS
        }
        self.button = w.Button(description="Does it work?", tooltip="Run the plan made of these answers")
        self.button.on_click(lambda _: self._run())
        self.reply = w.HTML()
        self.save = SaveRow(
            lambda name, force: save_plan(self.plan(), name, force),
            self._say,
            "Save the plan made of these answers",
        )
        super().__init__([*self.boxes.values(), self.button, self.reply, self.save])

    def plan(self) -> Plan:
        """Return the plan made of the answers; ValueError says what is wrong with one."""
        answers = {name: box.value for name, box in self.boxes.items() if box.value.strip()}
        return plan_from_text(plan_text(answers, units()))

    def _run(self) -> None:
        try:
            report = build_report(self.plan(), 0)
        except (ValueError, LookupError) as error:
            self._say(str(error))
            return
        lines = [verdict(report), *(f"{label}: {words}" for label, words in facts(report))]
        self.reply.value = f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ul>"

    def _say(self, words: str) -> None:
        self.reply.value = f"<p>{escape(words)}</p>"
