"""The experiment at the kitchen sink: a drawing of it, and a form for what was seen."""

from __future__ import annotations

from html import escape

import ipywidgets as w

from aquacalc.equations.formulas import GRAVITY, choking_flow, lip_head
from aquacalc.figures.kitchen import kitchen
from aquacalc.notebook.entry import Entry
from aquacalc.notebook.reader_units import follow, unfollow, units
from aquacalc.notebook.table import Grid, grid
from aquacalc.units import UnitError, show

__all__ = ["KitchenForm", "kitchen"]

#: What is measured on each of the two: its words, and its kind.
ASKED = (
    ("Lip, inside", "length"),
    ("Bore of the pipe under it", "length"),
    ("Flow at which it started", "flow"),
    ("Water over the lip just before", "head"),
)
#: Invented, until the reader's own stand there: plain end, wide end, in the order of `ASKED`.
INVENTED = ((0.020, 0.020, 4.5 / 60e3, 0.009), (0.038, 0.020, 4.3 / 60e3, 0.006))
ENDS = ("plain end", "wide end")


class KitchenForm(w.VBox):
    """A line for each thing that is measured at the sink, with the plain end and with the wide one."""

    def __init__(self):
        self.lines = tuple(Entry(("kitchen", name), name, kind, ENDS) for name, kind in ASKED)
        head = w.HTML(f"<p>Left the {ENDS[0]}, right the {ENDS[1]}:</p>")
        button = w.Button(description="Compare", tooltip="Compare with what the page says")
        button.on_click(lambda _: self.show())
        self.reply = w.HTML()
        super().__init__([head, *self.lines, button, self.reply])
        follow(self)
        self.show()

    def close(self) -> None:
        """Take the form away; it follows the units no longer."""
        unfollow(self)
        super().close()

    def switch(self, system: str) -> None:
        """Show the same in other units."""
        self.show()

    @property
    def seen(self) -> tuple[tuple[float, ...], ...]:
        """What was typed, SI, for each end; invented values while the form is empty.

        Raises
        ------
        aquacalc.units.UnitError
            Naming what cannot be read or is missing.
        """
        if not any(text for line in self.lines for text in line.texts):
            return INVENTED
        return tuple(tuple(line.value(k) for line in self.lines) for k in range(len(ENDS)))

    def show(self) -> None:
        """Compare, or say what is missing."""
        try:
            shown = self.table.html
        except UnitError as error:
            shown = f"<b>{escape(str(error))}</b>"
        self.reply.value = f'<div role="status">{shown}</div>'

    @property
    def table(self) -> Grid:
        """What was seen beside what the page says."""
        system, rows, seen = units(), [], self.seen
        for end, (lip, bore, started, stood) in zip(ENDS, seen, strict=True):
            low, high = (choking_flow(fr, bore, GRAVITY) for fr in (0.3, 1.0))
            inside = "inside" if low <= started <= high else "outside"
            head = lip_head(1.71, 0.60, lip, started, GRAVITY)
            rows.append([
                end, show(started, "flow", system),
                f"{show(low, 'flow', system)} to {show(high, 'flow', system)}, {inside}",
                show(stood, "head", system, 2), show(head, "head", system, 2),
            ])  # fmt: skip
        columns = ["standpipe", "started at", "the page's band", "water over the lip", "by the law"]
        note = (
            "These numbers are invented until you put in your own." if seen is INVENTED else "Your numbers."
        )
        return grid("What you saw, and what the page says", columns, rows, note)

    def _repr_mimebundle_(self, **kwargs):
        return super()._repr_mimebundle_(**kwargs) | self.table._repr_mimebundle_()
