"""One line of a form: a name with its unit, and boxes to type in."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import ipywidgets as w

from aquacalc import units
from aquacalc.notebook.reader_units import follow
from aquacalc.notebook.reader_units import units as chosen

#: What was typed so far, (form, line, box) -> text with its unit, for a form made again.
_typed: dict[tuple[str, ...], str] = {}


class Entry(w.HBox):
    """Boxes for values of one kind.

    What is typed without a unit is in the unit shown. Other units convert it, and a form made again has
    it still.

    Parameters
    ----------
    key : tuple of str
        What it is kept under.
    label : str
    kind : str
        Key of `aquacalc.units.KINDS`.
    boxes : sequence of str
        What each box is for, in a word or two.
    """

    def __init__(self, key: tuple[str, ...], label: str, kind: str, boxes: Sequence[str] = ("value",)):
        self.key, self.label, self.kind = key, label, kind
        self.name = w.Label(layout={"width": "21em"})
        self.boxes = tuple(w.Text(placeholder=what, layout={"width": "8em"}) for what in boxes)
        super().__init__([self.name, *self.boxes], layout={"flex_flow": "row wrap"})
        self._putting, self.system = False, chosen()
        self.switch(self.system)
        for what, box in zip(boxes, self.boxes, strict=True):
            box.value = self._in_unit(_typed.get((*key, what), ""))
            box.observe(partial(self._keep, (*key, what)), "value")
        follow(self)

    @property
    def unit(self) -> str:
        """The unit shown."""
        return units.in_unit(0.0, self.kind, self.system)[1]

    @property
    def texts(self) -> tuple[str, ...]:
        """What stands in the boxes."""
        return tuple(box.value.strip() for box in self.boxes)

    def put(self, *values: float) -> None:
        """Write SI values into the boxes: the first as it is, those after it, its errors, to two digits."""
        self._putting = True  # not typed by the reader: nothing to remember
        for k, value in enumerate(values):
            self.boxes[k].value = self.shown(value, 2 if k else 4)
        self._putting = False

    def value(self, box: int = 0) -> float:
        """Return what is typed, SI.

        Raises
        ------
        aquacalc.units.UnitError
            Naming the line.
        """
        text = self.texts[box]
        return units.read(f"{text} {self.unit}".strip() if _bare(text) else text, self.kind, self.label)

    def switch(self, system: str) -> None:
        """Ask in other units; what was typed is turned into them."""
        before, self.system = self.unit, system
        self.name.value = f"{self.label} ({self.unit})" if self.unit else self.label
        for box in self.boxes:
            box.tooltip = f"{self.name.value}, {box.placeholder}"
            if before != self.unit and _bare(box.value):
                box.value = self._in_unit(f"{box.value.strip()} {before}")

    def _keep(self, key: tuple[str, ...], change) -> None:
        if self._putting:
            return
        text = change["new"].strip()
        _typed[key] = f"{text} {self.unit}".strip() if _bare(text) else text

    def _in_unit(self, text: str) -> str:
        """Return what was typed in the unit shown; as it was typed where it has a unit of its own."""
        number, _, unit = text.partition(" ")
        if not _bare(number):
            return text
        if unit in ("", self.unit):
            return number
        try:
            return self.shown(units.read(text, self.kind))
        except units.UnitError:
            return text

    def shown(self, value: float, digits: int = 4) -> str:
        """Write an SI value in the unit shown, without it."""
        return units.show(value, self.kind, digits=digits, unit=self.unit).split()[0]


def _bare(text: str) -> bool:
    """Whether a text is a number without a unit."""
    return text.strip().removeprefix("-").replace(".", "", 1).isdigit()
