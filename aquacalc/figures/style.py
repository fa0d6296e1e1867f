"""Appearance shared by all figures: plain paper, dark ink, few colours, labels beside what they name.

Sizes are in CSS pixels of the finished picture: a figure of 900 px is 9 inches
at 100 dots an inch, so one pixel is 0.72 point.
"""

from __future__ import annotations

import math

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from aquacalc.figures.vector import nice_ticks
from aquacalc.units import in_unit

DPI = 100
POINT = 72.0 / DPI  # points in a pixel
WIDTH = 900

INK = "#1a1a1a"
SOFT = "#5f5f5f"
RULE = "#d9d9d9"
PAPER = "#ffffff"
MARK = "#b3420a"  # today's value, one strong colour for the one thing to look at

#: Okabe and Ito's colours (2008, from memory), darkest first; told apart by dash as well.
SERIES = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#8a7d00", "#7a5195")
#: Each colour of a picture, and what stands for it on a dark page.
DARK = {
    INK: "#ececea", SOFT: "#b4b4ae", RULE: "#4c4c48", PAPER: "#191918", MARK: "#ff9d6b", "#9a9a9a": "#8a8a88",
    "#0072b2": "#4fb0e8", "#9ccbe8": "#1d5a88", "#d98a5b": "#8a4a24", "#f0c14b": "#7d5d12",
    "#f7e3b5": "#5b4c1e", "#c9d6e0": "#3d4a54", "#eaa77f": "#8f4a20", "#ececec": "#333331",
}  # fmt: skip

FAMILY = "DejaVu Sans"  # travels with matplotlib
TEXT = 9.0  # points; 12.5 px
SMALL = 8.0
#: Mean width of a character over its size: generous, so that an estimate is never too narrow.
CHARACTER = 0.62


def new_figure(height: float, width: float = WIDTH) -> Figure:
    """Return an empty figure `width` by `height` pixels."""
    return Figure(figsize=(width / DPI, height / DPI), dpi=DPI, facecolor=PAPER)


def place(figure: Figure, left: float, top: float, width: float, height: float, **options) -> Axes:
    """Add axes `left` and `top` pixels from the figure's top left corner, `width` by `height` pixels."""
    w, h = figure.get_size_inches() * DPI
    axes = figure.add_axes((left / w, 1.0 - (top + height) / h, width / w, height / h), **options)
    axes.set_facecolor("none")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(SOFT)
        axes.spines[side].set_linewidth(0.8)
    axes.tick_params(colors=INK, labelsize=SMALL, length=3, width=0.8, color=SOFT, labelfontfamily=FAMILY)
    return axes


def bare(figure: Figure, left: float, top: float, width: float, height: float) -> Axes:
    """Add axes without spines and ticks, x in pixels; `left`, `top`, `width`, `height` as in `place`."""
    axes = place(figure, left, top, width, height)
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.set_xticks([])
    axes.set_yticks([])
    axes.set_xlim(0.0, width)
    return axes


def write(axes: Axes, x: float, y: float, text: str, size: float = SMALL, **options):
    """Put a label on the drawing at (`x`, `y`) of the axes' own units, `size` points."""
    options.setdefault("color", INK)
    options.setdefault("va", "center")
    return axes.text(x, y, text, fontsize=size, fontfamily=FAMILY, **options)


def text_width(text: str, size: float = SMALL) -> float:
    """Estimate the width (px) of the longest line of `text` at `size` points."""
    return max(len(line) for line in text.split("\n")) * CHARACTER * size / POINT


def fit(text: str, width: float, size: float = SMALL) -> str:
    """Shorten `text` at `size` points to `width` (px), with an ellipsis when something is left out."""
    most = max(int(width / (CHARACTER * size / POINT)), 2)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def scale_axis(axes: Axes, which: str, kind: str, system: str, label: str, most: int = 8) -> None:
    """Tick an axis that holds SI values at round values of the unit shown, and name it with that unit."""
    low, high = axes.get_xlim() if which == "x" else axes.get_ylim()
    zero, unit = in_unit(0.0, kind, system)
    per = in_unit(1.0, kind, system)[0] - zero
    ticks = nice_ticks(low * per + zero, high * per + zero, most)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    labels = [f"{v:.{decimals}f}" if v else "0" for v in ticks]
    axis = axes.xaxis if which == "x" else axes.yaxis
    axis.set_ticks([(v - zero) / per for v in ticks], [text.replace("-", "−") for text in labels])
    axis.set_label_text(f"{label} ({unit})", fontsize=SMALL, fontfamily=FAMILY, color=INK)
