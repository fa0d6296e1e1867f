"""Lines, labels and boxes of a figure, used again from one state to the next."""

from __future__ import annotations

from collections.abc import Callable

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch, Rectangle

from aquacalc.figures import style as s
from aquacalc.figures.outline import Point, path_of


class Pool:
    """Hands out artists in the order asked for; one that is asked for as it already is stays untouched.

    Call `start` before drawing a state and `stop` after it: what was not asked
    for in between is hidden.
    """

    def __init__(self):
        self._made: dict[tuple[Axes, str], list] = {}
        self._used: dict[tuple[Axes, str], int] = {}

    def start(self) -> None:
        """Begin a new state."""
        self._used = dict.fromkeys(self._made, 0)

    def stop(self) -> None:
        """Hide what the state did not use."""
        for key, made in self._made.items():
            for slot in made[self._used[key] :]:
                slot[0].set_visible(False)

    def line(self, axes: Axes, xs, ys, **style) -> None:
        """Draw a line; `style` as `Line2D` takes it."""
        style = {"ls": "-", "zorder": 2.0, **style}
        slot = self._slot(axes, "line", (tuple(xs), tuple(ys), style))
        if slot is None:
            return
        if slot[0] is None:
            slot[0] = axes.add_artist(Line2D(xs, ys, **style))
        else:
            slot[0].set_data(xs, ys)
            slot[0].set(**style)

    def box(self, axes: Axes, x: float, y: float, width: float, height: float, **style) -> None:
        """Draw a filled box at (`x`, `y`), `width` by `height`, px; `style` as `Rectangle` takes it."""
        slot = self._slot(axes, "box", (x, y, width, height, style))
        if slot is None:
            return
        if slot[0] is None:
            slot[0] = axes.add_artist(Rectangle((x, y), width, height, **style))
        else:
            slot[0].set_bounds(x, y, width, height)
            slot[0].set(**style)

    def text(self, axes: Axes, x: float, y: float, text: str, size: float = s.SMALL, **style) -> None:
        """Write a label at (`x`, `y`) px, `size` points; `style` as `figures.style.write` takes it."""
        style = {"color": s.INK, "ha": "left", "weight": "normal", **style}
        slot = self._slot(axes, "text", (x, y, text, size, style))
        if slot is None:
            return
        if slot[0] is None:
            slot[0] = s.write(axes, x, y, text, size, **style)
        else:
            slot[0].set(x=x, y=y, text=text, fontsize=size, **style)

    def _slot(self, axes: Axes, what: str, wanted: tuple) -> list | None:
        """Return [artist or None, what it shows] to be brought to `wanted`; None when it is there already."""
        made = self._made.setdefault((axes, what), [])
        number = self._used.get((axes, what), 0)
        self._used[axes, what] = number + 1
        if number == len(made):
            made.append([None, wanted])
            return made[-1]
        slot = made[number]
        slot[0].set_visible(True)
        if slot[1] == wanted:
            return None
        slot[1] = wanted
        return slot


class Keeper:
    """Calls setters of artists only with something new: an artist that is set counts as changed."""

    def __init__(self):
        self._last: dict[tuple[object, str], tuple] = {}

    def __call__(self, setter: Callable[..., object], *values) -> None:
        """Call `setter(*values)` unless it was called so the last time."""
        key = (setter.__self__, setter.__name__)
        if key not in self._last or self._last[key] != values:
            setter(*values)
            self._last[key] = values

    def path(self, patch: PathPatch, polygons: list[list[Point]]) -> None:
        """Give a patch the closed polygons as its path."""
        key = (patch, "polygons")
        if self._last.get(key) != (polygons,):
            patch.set_path(path_of(polygons))
            self._last[key] = (polygons,)
