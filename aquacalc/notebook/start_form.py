"""A first plan from eight answers, as a form: what it does, and a file for the next workbooks."""

from __future__ import annotations

from html import escape

import ipywidgets as w

from aquacalc.design.start import QUESTIONS, plan_text
from aquacalc.notebook.panel import status
from aquacalc.notebook.reader_units import follow, units
from aquacalc.notebook.save_row import SaveRow
from aquacalc.notebook.table import grid
from aquacalc.plan.model import Plan
from aquacalc.plan.read import plan_from_text
from aquacalc.report.content import build_report
from aquacalc.report.summary import facts
from aquacalc.report.text import verdict


class StartForm(w.VBox):
    """The questions of `aquacalc start`, each with its usual answer; an empty box takes that."""

    def __init__(self):
        self.boxes = {
            question.name: w.Text(
                description=question.asks.partition(":")[0],
                style={"description_width": "21em"},
                layout={"width": "33em", "max_width": "100%"},
            )
            for question in QUESTIONS
        }
        self.button = w.Button(description="Does it work?", tooltip="Run the plan made of these answers")
        self.button.on_click(lambda _: self._run())
        self.reply = w.HTML()
        self.save = SaveRow(self.plan, self._say, "Save the plan made of these answers")
        room = {"flex": "1 1 12em"}
        whys = (
            w.HTML(escape(f"{q.asks.partition(': ')[2]} ({q.why})".strip()), layout=room) for q in QUESTIONS
        )
        rows = zip(self.boxes.values(), whys, strict=True)
        lines = [w.HBox(row, layout={"flex_flow": "row wrap"}) for row in rows]
        super().__init__([*lines, self.button, self.reply, self.save])
        self.switch(units())
        follow(self)

    def switch(self, system: str) -> None:
        """Show the usual answers in other units; what was typed has its own and stays."""
        for question in QUESTIONS:
            box, usual = self.boxes[question.name], question.usual[system]
            box.placeholder, box.tooltip = usual, f"{question.asks}; left empty: {usual}"
        if self.reply.value:
            self._run()

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
        lines = "".join(f"<li>{escape(f'{label}: {words}')}</li>" for label, words in facts(report))
        self.reply.value = status(verdict(report), f"<ul>{lines}</ul>")

    def _say(self, words: str) -> None:
        self.reply.value = status(words)

    def _repr_mimebundle_(self, **kwargs):
        rows = [(question.asks, question.usual[units()]) for question in QUESTIONS]
        sheet = grid("A first plan", ["question", "usual answer"], rows)
        return super()._repr_mimebundle_(**kwargs) | sheet._repr_mimebundle_()
