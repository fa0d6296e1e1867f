"""Panels, forms and workbooks without a browser: what they show, and what they show when they are moved."""

from __future__ import annotations

import ast
import contextlib
import html
import io
import json
from collections.abc import Callable, Iterator
from unittest import mock

from tests.shown.commands import apart
from tests.shown.plans import ROOT


class _Screen:
    """What a notebook is given to show."""

    def __init__(self):
        self.outputs: list[dict] = []

    def publish(self, data, metadata=None, source=None, *, transient=None, update=False, **more) -> None:
        self.outputs.append(data)

    def clear_output(self, wait=False) -> None:
        self.outputs.clear()

    def __getattr__(self, name: str):
        return lambda *args, **more: None


def figure(picture, scale: float = 2.0) -> str:
    """Words and points of a figure that a plotting library draws, and where they are."""
    from matplotlib.text import Text

    said = [f"alt {picture.alt}"]
    for part in picture.figure.findobj():
        kind = type(part).__name__
        if isinstance(part, Text) and part.get_text() and part.get_visible():
            said.append(f"{kind} {part.get_text()} at {[round(float(v), 3) for v in part.get_position()]}")
        elif hasattr(part, "get_xydata"):
            points = [round(float(v), 4) for v in part.get_xydata().ravel()[:80]]
            said.append(f"{kind} {points}" if any(points) else kind)
        elif kind == "PathPatch":
            said.append(f"{kind} {[round(float(v), 4) for v in part.get_path().vertices.ravel()[:80]]}")
    return "<br>".join(html.escape(line) for line in said)


@contextlib.contextmanager
def screen_of(system: str = "metric") -> Iterator[_Screen]:
    """Let everything be shown to what is returned, with nothing typed yet."""
    from IPython.core.interactiveshell import InteractiveShell
    from ipywidgets import Widget

    from aquacalc.figures.picture import Picture
    from aquacalc.notebook import entry, reader_units, showing
    from aquacalc.teaching import guessing

    shell = InteractiveShell.instance()
    screen = _Screen()
    try:
        with (
            apart(),
            mock.patch.object(shell, "display_pub", screen),
            mock.patch.object(Picture, "html", figure),
            mock.patch.object(entry, "_typed", {}),
            mock.patch.object(guessing, "_asked", {}),
            mock.patch.object(guessing, "_open", []),
            mock.patch.object(showing, "_following", []),
            mock.patch.object(reader_units, "_chosen", False),
        ):
            reader_units.use(system)
            reader_units._chosen = False
            yield screen
    finally:
        Widget.close_all()
        reader_units.use("metric")
        InteractiveShell.clear_instance()


def bundle(data: dict) -> Iterator[tuple[str, str]]:
    for kind, ending in (("text/plain", ""), ("text/html", ".html"), ("image/svg+xml", ".svg")):
        if kind in data:
            yield ending, data[kind]


#: In cells that run hundreds of plans, of which `studies` does the same with a few.
SLOW = ("plans_around(", ", own, ", ", table", "chances(", "chances_drawn, ", "standpipe_by_sump, ")


def workbook(name: str) -> Iterator[tuple[str, str]]:
    """What each cell of a workbook shows."""
    from IPython.display import display

    (path,) = (ROOT / "workbooks").glob(f"{name}-*.ipynb")
    with screen_of() as screen:
        space = {"display": display}
        for k, cell in enumerate(json.loads(path.read_text(encoding="utf-8"))["cells"]):
            source = "".join(cell["source"])
            if cell["cell_type"] != "code" or any(slow in source for slow in SLOW):
                continue
            tree = ast.parse(source)
            if isinstance(tree.body[-1], ast.Expr):
                last = ast.Call(ast.Name("display", ast.Load()), [tree.body[-1].value], [])
                tree.body[-1] = ast.Expr(last)
            printed = io.StringIO()
            with contextlib.redirect_stdout(printed):
                exec(compile(ast.fix_missing_locations(tree), str(path), "exec"), space)
            yield f"{k:02d} printed", printed.getvalue()
            for n, data in enumerate(screen.outputs):
                for ending, text in bundle(data):
                    yield f"{k:02d} {n}{ending}", text
            screen.outputs.clear()


def _parts(widget) -> Iterator:
    yield widget
    for child in getattr(widget, "children", ()):
        yield from _parts(child)


def driven(make: Callable[[], object], system: str = "metric", texts: tuple[str, ...] = ("12", "300 mm")):
    """What a panel or form says at first, and after every box, slider and button of it is moved."""
    from ipywidgets import Button, Widget
    from ipywidgets.widgets.widget_int import Play

    with screen_of(system) as screen:
        top = make()
        root = next(each for each in (top, *vars(top).values()) if isinstance(each, Widget))
        seen: dict[str, str] = {}

        def changed(what: str) -> Iterator[tuple[str, str]]:
            for part in _parts(root):
                value = getattr(part, "value", "")
                hidden = getattr(getattr(part, "layout", None), "display", None)
                text = value if isinstance(value, str) else repr(value)
                text += f"\n{getattr(part, 'description', '')} {hidden} {getattr(part, 'disabled', '')}"
                key = part.model_id
                if seen.get(key) != text:
                    seen[key] = text
                    yield f"{what} {type(part).__name__}.html", text
            for data in screen.outputs:
                for ending, text in bundle(data):
                    yield f"{what} shown{ending}", text
            screen.outputs.clear()

        yield from changed("at first")
        for part in list(_parts(root)):
            name = f"{getattr(part, 'description', '') or getattr(part, 'tooltip', '')}"
            if isinstance(part, Play) or _hidden(part, root):
                continue
            if isinstance(part, Button):
                part.click()
                yield from changed(f"{name} clicked")
                continue
            for value in _others(part, texts):
                with contextlib.suppress(Exception):
                    part.value = value
                    yield from changed(f"{name} {value}")


def _hidden(part, root) -> bool:
    """Whether a reader does not see a widget, or cannot press it."""
    away = [
        widget for widget in _parts(root) if getattr(getattr(widget, "layout", 0), "display", "") == "none"
    ]
    return getattr(part, "disabled", False) or any(each is part for w in away for each in _parts(w))


def _others(part, texts) -> list:
    """Other values that a widget may have."""
    if hasattr(part, "options") and hasattr(part, "index"):
        options = [value for _, value in part._options_full]
        if isinstance(part.value, tuple):
            return [tuple(options[:1])]
        return [option for option in options if option != part.value][:3]
    if hasattr(part, "min") and hasattr(part, "max") and hasattr(part, "step"):
        at = part.value
        return [part.min, part.max, at]
    if isinstance(getattr(part, "value", None), bool):
        return [not part.value]
    kind = type(part).__name__
    return list(texts) if kind in ("Text", "Combobox", "Textarea") else []
