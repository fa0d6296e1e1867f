"""Sizes of the reader's own bed, typed in, and the panel of the plan that has them."""

from __future__ import annotations

from dataclasses import replace

import ipywidgets as w

from aquacalc.notebook.entry import Entry
from aquacalc.notebook.panel import status
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.tuning_panels import BedPanel, pump_flow, with_flow, with_standpipe
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Plan
from aquacalc.units import UnitError

#: Key of the bed -> what the form calls it, and its kind.
SIZES = {
    "length": ("Length of the bed inside", "length"),
    "width": ("Width of the bed inside", "length"),
    "diameter": ("Diameter of the bed inside", "length"),
    "depth": ("Height of its wall", "length"),
    "media_depth": ("Depth of the media", "length"),
    "porosity": ("Porosity of the media", "ratio"),
}


class BedForm(w.VBox):
    """Lines for the sizes of one bed, and a panel of the plan with these sizes.

    Parameters
    ----------
    plan : Plan
        What the form begins with; the first bed's sizes are those that it changes.

    Attributes
    ----------
    panel : BedPanel
    """

    def __init__(self, plan: Plan):
        self.start = plan
        bed = plan.beds[0]
        has = [*bed.shape.keys, "media_depth", "porosity"]
        self.lines = {
            key: Entry((plan.name, key), name, kind) for key, (name, kind) in SIZES.items() if key in has
        }
        self.lines["flow"] = Entry((plan.name, "flow"), "Flow of the pump", "flow")
        self.lines["standpipe"] = Entry((plan.name, "standpipe"), "Height of the standpipe", "length")
        typed = any(line.texts[0] for line in self.lines.values())
        for key, line in self.lines.items():
            if not line.texts[0]:
                line.put(self._of(plan, key))
        button = w.Button(description="Use these sizes", tooltip="Run the plan with these sizes")
        button.on_click(lambda _: self.press())
        self.reply = w.HTML()
        self.panel = BedPanel(plan)
        self._above = [*self.lines.values(), button, self.reply]
        super().__init__([*self._above, self.panel])
        if typed:
            self.press()

    @property
    def plan(self) -> Plan:
        """The plan as form and sliders have it."""
        return self.panel.plan

    @property
    def touched(self) -> bool:
        """Whether the plan is no longer the one that the form began with."""
        return self.panel.plan != self.start

    def _of(self, plan: Plan, key: str) -> float:
        if key == "flow":
            return pump_flow(plan)
        if key == "standpipe":
            return plan.siphons[0].standpipe.height
        return edit.get(plan, f"bed.{plan.beds[0].name}.{key}")

    def press(self) -> None:
        """Take the sizes, or say what is wrong with them."""
        try:
            plan = self._made()
        except (UnitError, PlanError) as error:
            self.reply.value = status(str(error))
            return
        self.panel.close()
        self.panel, self.reply.value = BedPanel(plan), status("The panel has these sizes.")
        self.children = [*self._above, self.panel]

    def _made(self) -> Plan:
        """Return the plan with what is typed where that differs from what stands in the plan."""
        plan, bed = self.start, self.start.beds[0].name
        # A size is shown rounded: one that was not touched stays as it is.
        touched = {k: e for k, e in self.lines.items() if e.texts[0] != e.shown(self._of(plan, k))}
        changed = {key: line.value() for key, line in touched.items()}
        if "flow" in changed:
            plan = with_flow(plan, changed.pop("flow"))
        if "standpipe" in changed:
            plan = with_standpipe(plan, changed.pop("standpipe"))
        plan = edit.put(plan, {f"bed.{bed}.{key}": value for key, value in changed.items()})
        check_plan(replace(plan, units=units()), "these sizes")
        return plan

    def _repr_mimebundle_(self, **kwargs):
        return super()._repr_mimebundle_(**kwargs) | self.panel.still()[0] | {"text/plain": self.panel.text}
