"""A sheet of paper in mm, black on white, written as SVG: lines, circles, letters, dimensions, labels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from html import escape

Flat = tuple[float, float]
#: Paper (mm), lying on its long side.
PHONE = "a phone"
PAPER = {"A4": (297.0, 210.0), "Letter": (279.4, 215.9), PHONE: (200.0, 150.0)}
#: Taken off the empty margin of a phone's sheet, so that letters are 11 px high on one of 390 px, mm.
TRIM = 8.0
#: Size of letters (mm): capitals of this type are 0.73 of it, so 3 mm high.
LETTER = 4.2
#: Room that a character takes, over the size of its letters.
CHARACTER = 0.6
MARGIN, TITLE, FOOT = 10.0, 14.0, 9.0
#: Ways that are tried where words may be left out.
NEAR = 24
#: Room left and right of words, mm.
CLEAR = 1.0
#: Ways from a point (parts of the letters' size) at which its label is tried, the nearest first.
_AWAY = tuple(
    (r * math.cos(a), r * math.sin(a))
    for r in (1.6, 2.6, 3.8, 5.2, 7.0, 9.0)
    for a in (math.radians(d) for d in (45, 135, 315, 225, 0, 180, 90, 270))
)


class Canvas:
    """One sheet of paper in the making.

    Parameters
    ----------
    paper : {"A4", "Letter"}
    upright : bool
        Whether it stands on its short side.
    height : float, optional
        Another height, mm.

    Attributes
    ----------
    width, height : float
        mm.
    texts : list of (left, top, right, bottom)
        Room that letters take, mm, y down.
    """

    def __init__(self, paper: str, upright: bool = False, height: float = 0.0):
        sides = PAPER[paper]
        self.paper = paper
        self.width, self.height = sides[::-1] if upright else sides
        self.height = height or self.height
        self.texts: list[tuple[float, float, float, float]] = []
        self._out: list[str] = []

    def line(self, points: Sequence[Flat], width=0.35, dash="", close=False, fill="none", ink="#000") -> None:
        """Draw straight lines through points (mm), `width` mm wide."""
        d = " ".join(f"{'L' if k else 'M'}{x:.3f} {y:.3f}" for k, (x, y) in enumerate(points))
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._out.append(
            f'<path d="{d}{"Z" if close else ""}" fill="{fill}" stroke="{ink}" stroke-width="{width:.2f}"'
            f'{dashed} stroke-linejoin="round"/>'
        )

    def circle(
        self, at: Flat, radius: float, width: float = 0.35, dash: str = "", fill: str = "none"
    ) -> None:
        """Draw a circle of `radius` with a line of `width`, mm."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._out.append(
            f'<circle cx="{at[0]:.3f}" cy="{at[1]:.3f}" r="{radius:.3f}" fill="{fill}" stroke="#000" '
            f'stroke-width="{width:.2f}"{dashed}/>'
        )

    def text(self, at: Flat, said: str, anchor="start", size=LETTER, bold=False, turned=False) -> None:
        """Write letters of `size` mm whose middle lies at `at`; `anchor` is "start", "middle" or "end"."""
        x, y = at
        self.texts.append(_box(at, said, anchor, size, turned))
        weight = ' font-weight="bold"' if bold else ""
        turn = f' transform="rotate(-90 {x:.2f} {y:.2f})"' if turned else ""
        self._out.append(
            f'<text x="{x:.2f}" y="{y + 0.36 * size:.2f}" font-size="{size:.2f}" text-anchor="{anchor}"'
            f'{weight}{turn} stroke="#fff" stroke-width="{0.3 * size:.2f}" paint-order="stroke" '
            f'stroke-linejoin="round">{escape(said)}</text>'
        )

    def label(self, at: Flat, said: str, bold: bool = False, must: bool = True) -> None:
        """Write beside a point, where nothing is written yet, with a line to the point.

        One that is no `must` is left out where there is no such place near.
        """
        for dx, dy in _AWAY if must else _AWAY[:NEAR]:
            to = at[0] + dx * LETTER, at[1] + dy * LETTER
            anchor = "middle" if abs(dx) < 0.3 * abs(dy) else "start" if dx > 0 else "end"
            box = _box(to, said, anchor, LETTER, False)
            if self.free(box):
                break
        else:
            if not must:
                return
        self.line([at, to], 0.2)
        self.text(to, said, anchor, bold=bold)

    def free(self, box: tuple[float, float, float, float]) -> bool:
        """Whether a box lies on the paper and nothing is written in it."""
        a, b, c, d = box[0] - CLEAR, box[1], box[2] + CLEAR, box[3]
        on = a > MARGIN and b > MARGIN and c < self.width - MARGIN and d < self.height - MARGIN
        return on and not any(a < r and c > p and b < s and d > q for p, q, r, s in self.texts)

    def dimension(self, a: Flat, b: Flat, said: str, beside: float = 0.0, must: bool = True) -> bool:
        """Draw a dimension with arrowheads from `a` to `b`, its length written `beside` it (mm).

        One that is no `must` is left out where its length would lie on other words. Returns whether it is
        drawn.
        """
        long = math.dist(a, b)
        if long < 1e-6:
            return False
        ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        turned = abs(uy) > abs(ux)
        x, y = 0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])
        middle = (x - beside, y) if turned else (x, y - beside)
        if not must and not self.free(_box(middle, said, "middle", LETTER, turned)):
            return False
        self.line([a, b], 0.2)
        for (x, y), s in ((a, 1.0), (b, -1.0)):
            head = [
                (x + s * (2.2 * ux + 0.5 * w * uy), y + s * (2.2 * uy - 0.5 * w * ux)) for w in (1.0, -1.0)
            ]
            self.line([(x, y), *head], 0.1, close=True, fill="#000")
        self.text(middle, said, "middle", turned=turned)
        return True

    def svg(self, name: str) -> str:
        """Return the SVG, as wide and high as the paper, called `name`."""
        off = TRIM if self.paper == PHONE else 0.0
        wide, high = (f"{side - 2.0 * off:g}" for side in (self.width, self.height))
        box = f'viewBox="{off:g} {off:g} {wide} {high}"'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" {box} '
            f'role="img" aria-label="{escape(name)}" font-family="DejaVu Sans, Verdana, sans-serif">'
            f'<rect x="{off:g}" y="{off:g}" width="{wide}" height="{high}" fill="#fff"/>'
            f"{''.join(self._out)}</svg>"
        )


def text_width(said: str, size: float = LETTER) -> float:
    """Estimate the width (mm) of letters of `size` mm."""
    return len(said) * CHARACTER * size


def _box(at: Flat, said: str, anchor: str, size: float, turned: bool) -> tuple[float, float, float, float]:
    wide, (x, y) = text_width(said, size), at
    start = {"start": 0.0, "middle": -0.5 * wide, "end": -wide}[anchor]
    if turned:
        return x - 0.5 * size, y - start - wide, x + 0.5 * size, y - start
    return x + start, y - 0.5 * size, x + start + wide, y + 0.5 * size


def spread(wanted: Sequence[float], room: float, low: float, high: float) -> list[float]:
    """Move heights (mm, falling) apart by `room` mm, as little as may be, from `low` to `high`.

    Examples
    --------
    >>> spread([10.0, 11.0, 30.0], 5.0, 0.0, 100.0)
    [8.0, 13.0, 30.0]
    """
    room = min(room, (high - low) / max(len(wanted), 1))
    blocks: list[tuple[float, list[float]]] = []
    for want in wanted:
        block = [want]
        while True:
            # Where the members of a block want its first, on average.
            first = sum(w - k * room for k, w in enumerate(block)) / len(block)
            first = min(max(first, low), high - room * (len(block) - 1))
            if not blocks or blocks[-1][0] + room * len(blocks[-1][1]) <= first + 1e-9:
                break
            block = blocks.pop()[1] + block
        blocks.append((first, block))
    return [first + k * room for first, block in blocks for k in range(len(block))]


def wrapped(said: str, width: float, size: float = LETTER) -> Iterator[str]:
    """Break a text of letters of `size` over lines of `width`, mm."""
    line = ""
    for word in said.split(" "):
        if line and text_width(f"{line} {word}", size) > width:
            yield line
            line = word
        else:
            line = f"{line} {word}".strip()
    yield line
