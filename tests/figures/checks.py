"""What a reader's eye would check: nothing overlaps, nothing is cut, every axis says its unit."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.path import Path
from matplotlib.text import Text


def texts(figure: Figure) -> list[tuple[str, object]]:
    """Return every text that is drawn, with its box in dots."""
    figure.draw_without_rendering()
    renderer = figure._get_renderer()
    found = []
    for artist in figure.findobj(Text):
        axes = artist.axes
        if not artist.get_visible() or not artist.get_text().strip():
            continue
        if axes is not None and not _shown_tick(artist, axes):
            continue
        found.append((artist.get_text(), artist.get_window_extent(renderer)))
    return found


def _shown_tick(artist: Text, axes) -> bool:
    """Whether a tick's label is on the axis; matplotlib keeps spare ticks beside it."""
    for axis, (low, high) in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim())):
        for tick in axis.get_major_ticks():
            if artist in (tick.label1, tick.label2):
                slack = 1e-6 * abs(high - low)
                return min(low, high) - slack <= tick.get_loc() <= max(low, high) + slack
    return True


def unclear(figure: Figure) -> tuple[list[tuple[str, str]], list[str]]:
    """Return pairs of texts whose boxes share more than a dot, and texts cut by the figure's edge."""
    found = texts(figure)
    return _overlaps(found), _cut(found, figure.bbox)


def _overlaps(found) -> list[tuple[str, str]]:
    pairs = []
    for k, (one, a) in enumerate(found):
        for other, b in found[k + 1 :]:
            wide = min(a.x1, b.x1) - max(a.x0, b.x0)
            tall = min(a.y1, b.y1) - max(a.y0, b.y0)
            if wide > 1.0 and tall > 1.0:
                pairs.append((one, other))
    return pairs


def _cut(found, box) -> list[str]:
    return [
        text
        for text, b in found
        if b.x0 < box.x0 - 0.5 or b.x1 > box.x1 + 0.5 or b.y0 < box.y0 - 0.5 or b.y1 > box.y1 + 0.5
    ]


def axes_without_unit(figure: Figure) -> list[str]:
    """Return the labels of axes that show ticks but no unit in brackets."""
    bare = []
    for axes in figure.axes:
        for axis in (axes.xaxis, axes.yaxis):
            labels = [t.label1.get_text() for t in axis.get_major_ticks()]
            label = axis.get_label_text()
            if any(labels) and not (label.endswith(")") and "(" in label):
                bare.append(label)
    return bare


def holds(path: Path, point) -> bool:
    """Whether a closed path with holes holds a point; matplotlib's own test counts holes as inside."""
    loops = path.to_polygons(closed_only=False)
    return sum(Path(loop).contains_point(point) for loop in loops) % 2 == 1


def clear(drawn) -> None:
    """Refuse labels of a picture written as SVG that touch or are cut, as large as they may be shown."""
    for drawing in drawn.parts:
        for k, (x0, y0, x1, y1, said) in enumerate(drawing.texts):
            beyond = max(-x0, -y0, x1 - drawing.width, y1 - drawing.height)
            assert beyond < 1.0, f"{said!r} is cut"
            for u0, v0, u1, v1, other in drawing.texts[k + 1 :]:
                wide, tall = min(x1, u1) - max(x0, u0), min(y1, v1) - max(y0, v0)
                assert wide < 1.0 or tall < 2.0, f"{said!r} and {other!r}"
