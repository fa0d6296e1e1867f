"""One value of a panel: a slider and a number box that follow each other, in the reader's units."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import ipywidgets as w
from traitlets import CFloat

from aquacalc.units import in_unit, read

#: Steps that a slider has at least, from end to end.
STEPS = 60
LABEL = {"description_width": "13.5em"}


def grid(
    low: float, high: float, kind: str, system: str, whole: bool = False
) -> tuple[float, float, float, int]:
    """Return ends and step of a slider in the unit shown: round numbers, and the step divides the span.

    Parameters
    ----------
    low, high : float
        Ends in SI; they are moved outwards to the next step.
    kind : str
        Key of `aquacalc.units.KINDS`.
    system : {"metric", "us"}
    whole : bool
        Whether only whole numbers make sense.

    Returns
    -------
    low, high, step : float
    decimals : int
        Of all three.
    """
    a, b = in_unit(low, kind, system)[0], in_unit(high, kind, system)[0]
    power = 10.0 ** math.floor(math.log10((b - a) / STEPS))
    step = max(f * power for f in (1.0, 2.0, 5.0) if f * power <= (b - a) / STEPS * 1.000001)
    if whole:
        step = max(1.0, step)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first, last = math.floor(a / step + 1e-6), math.ceil(b / step - 1e-6)
    if low > 0.0 and first <= 0:
        first = 1
    return round(first * step, decimals), round(last * step, decimals), round(step, decimals), decimals


class Slider(w.FloatSlider):
    """A slider to which its own moves are not sent back: it is where it was moved to already."""

    value = CFloat(0.0, help="Where it is").tag(sync=True, echo_update=False)


class Knob(w.HBox):
    """A quantity to move.

    Parameters
    ----------
    label : str
        What it is; its unit is added.
    kind : str
        Key of `aquacalc.units.KINDS`.
    low, high, start : float
        Ends and first value, SI. A first value that is no step of the slider is kept exactly.
    moved : callable
        Called without arguments when the value has changed.
    system : {"metric", "us"}
    whole : bool
        Whether only whole numbers make sense.
    """

    def __init__(
        self,
        label: str,
        kind: str,
        low: float,
        high: float,
        start: float,
        moved: Callable[[], None],
        system: str,
        whole: bool = False,
    ):
        self.label, self.kind, self.ends, self.whole = label, kind, (low, high), whole
        self.moved = moved
        self._si = float(start)
        self._busy = False
        self.slider: Slider | None = None
        self.box = w.BoundedFloatText(layout={"width": "6.5em", "flex": "0 0 auto"})
        super().__init__(layout={"width": "auto"})
        self.switch(system)
        self.box.observe(self._typed, "value")

    @property
    def si(self) -> float:
        """The value, SI."""
        return self._si

    @si.setter
    def si(self, value: float) -> None:
        low, high = (self._to_si(x) for x in (self.slider.min, self.slider.max))
        value = min(max(value, low), high)
        if value != self._si:
            self._si = value
            self.moved()
            self._show()

    def switch(self, system: str) -> None:
        """Show the same value in other units."""
        self.system = system
        low, high, self.step, self.decimals = grid(*self.ends, self.kind, system, self.whole)
        self.unit = in_unit(0.0, self.kind, system)[1]
        name = f"{self.label} ({self.unit})" if self.unit else self.label
        ends = {"min": low, "max": high, "step": self.step, "value": min(max(self._shown(), low), high)}
        self._busy = True
        with self.box.hold_trait_notifications():
            for trait, value in ends.items():
                setattr(self.box, trait, value)
        self.box.tooltip = name
        # Another slider, not other ends for this one: a page that is given new ends before the new value
        # pushes the slider to one of them, and tells the kernel so.
        before = self.slider
        self.slider = Slider(
            **ends, description=name, tooltip=name, readout=False, style=LABEL,
            layout={"flex": "1 1 auto", "min_width": "0"},
        )  # fmt: skip
        self.slider.observe(self._slid, "value")
        self.children = (self.slider, self.box)
        if before is not None:
            before.close()
        self._busy = False

    def _shown(self) -> float:
        """Return the value in the unit shown, one decimal finer than the step: a first value may need it."""
        return round(in_unit(self._si, self.kind, self.system)[0], self.decimals + (not self.whole))

    def _show(self) -> None:
        self._busy = True
        self.slider.value = self.box.value = self._shown()
        self._busy = False

    def _to_si(self, shown: float) -> float:
        return read(f"{shown:.10g} {self.unit}".strip(), self.kind)

    def _slid(self, change) -> None:
        if self._busy:
            return
        # A slider may report 10.000000000000002, and a value between two of its steps as the nearer of them.
        new = round(change["new"], self.decimals)
        steps = (self._shown() - self.slider.min) / self.step
        near = self.slider.min + math.floor(steps + 0.5) * self.step  # a page takes a half up
        if abs(new - near) < 1e-6 * self.step and steps % 1.0 > 1e-6:
            return
        self._take(new)

    def _typed(self, change) -> None:
        if not self._busy:
            self._take(round(change["new"], 0 if self.whole else self.decimals + 2))

    def _take(self, shown: float) -> None:
        if shown == self._shown():
            return
        self._si = self._to_si(shown)
        self.moved()  # first the picture: it is what the eye waits for
        self._show()


class Choice(w.HBox):
    """One of several sizes, by a slider and a list that follow each other.

    Parameters
    ----------
    label : str
    options : sequence of str
        In the order of the slider.
    start : str
    moved : callable
        Called without arguments when the choice has changed.
    """

    def __init__(self, label: str, options: Sequence[str], start: str, moved: Callable[[], None]):
        self.slider = w.SelectionSlider(
            options=list(options), value=start, description=label, readout=False, style=LABEL, tooltip=label,
            layout={"flex": "1 1 auto", "min_width": "0"},
        )  # fmt: skip
        self.list = w.Dropdown(
            options=list(options), value=start, tooltip=label, layout={"width": "6.5em", "flex": "0 0 auto"}
        )
        super().__init__([self.slider, self.list], layout={"width": "auto"})
        w.link((self.slider, "value"), (self.list, "value"))
        self.slider.observe(lambda change: moved(), "value")

    @property
    def value(self) -> str:
        """The size chosen."""
        return self.slider.value

    @value.setter
    def value(self, size: str) -> None:
        self.slider.value = size

    def switch(self, system: str) -> None:
        """Sizes are names: they are the same in every system of units."""


def si_of(value: float | str, kind: str, place: str) -> float:
    """Read a value given as text with its unit; a number is SI already."""
    return float(value) if isinstance(value, (int, float)) else read(value, kind, place)
