"""Any equation with a slider for each symbol: the worked calculation follows."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

import ipywidgets as w

from aquacalc.equations import RECORDS, Equation
from aquacalc.equations.worked import Worked, worked
from aquacalc.notebook.panel import Panel
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.showing import calculation, calculation_still
from aquacalc.notebook.slider import Knob, si_of
from aquacalc.units import show

Given = float | str


class EquationPanel(Panel):
    """An equation with the reader's own numbers.

    Parameters
    ----------
    equation : str or Equation
        Key in `aquacalc.equations.RECORDS`, or a record.
    ranges : dict of str to (low, start, high)
        A slider for each of these symbols; text with a unit, or SI numbers.
    given : dict of str to value, optional
        Symbols that stay as they are; those with a default may be left out.
    find : str, optional
        The symbol wanted; the equation's own result if not given.

    Raises
    ------
    ValueError
        For an unknown equation or symbol, a missing value, or a range that does not go upwards.
    """

    def __init__(
        self,
        equation: str | Equation,
        ranges: Mapping[str, tuple[Given, Given, Given]],
        given: Mapping[str, Given] | None = None,
        find: str | None = None,
    ):
        super().__init__()
        if isinstance(equation, str) and equation not in RECORDS:
            raise ValueError(f"there is no equation {equation!r}")
        record = RECORDS[equation] if isinstance(equation, str) else equation
        self.equation, self.find = record, find or record.output.key
        self.given = {k: si_of(v, record.symbol(k).kind, k) for k, v in (given or {}).items()}
        self.knobs: dict[str, Knob] = {}
        for key, ends in ranges.items():
            symbol = record.symbol(key)
            low, start, high = (si_of(x, symbol.kind, key) for x in ends)
            if not low <= start <= high or low == high:
                raise ValueError(f"{key}: give a range as (low, start, high), each above the one before")
            self.knobs[key] = Knob(
                f"{symbol.name}, {key}", symbol.kind, low, high, start, self._update, units()
            )
        self.math = w.HTML()
        self._update()
        title = w.HTML(f"<b>{escape(record.title)}</b>")
        self.complete(title, *self.knobs.values(), self.math, self.words)

    @property
    def values(self) -> dict[str, float]:
        """The values of all symbols that are given or moved, SI."""
        return self.given | {key: knob.si for key, knob in self.knobs.items()}

    @property
    def result(self) -> Worked:
        """The worked calculation of the values shown."""
        return worked(self.equation, self.values, units(), self.find)

    def set(self, **si: float) -> None:
        """Move sliders to the SI values `si`."""
        for key, value in si.items():
            self.knobs[key].si = value

    def switch(self, system: str) -> None:
        """Show the same in other units."""
        for knob in self.knobs.values():
            knob.switch(system)
        self._update()

    def still(self) -> tuple[dict, dict]:
        """Return the calculation and its result in words."""
        shown = calculation_still(self.result) if self.math.value else {"text/html": ""}
        return shown | {"text/html": shown["text/html"] + self.html}, {}

    def _update(self) -> None:
        try:
            done = self.result
        except ValueError as error:
            self.math.value = ""
            self.say(str(error))
            return
        self.math.value = calculation(done)
        symbol = self.equation.symbol(self.find)
        text = f"{symbol.name[:1].upper()}{symbol.name[1:]}: {show(done.value, symbol.kind, units())}."
        more = [done.branch] if done.branch else []
        more += [f"Careful: {warning}" for warning in done.warnings]
        self.say(" ".join([text, *more]))
