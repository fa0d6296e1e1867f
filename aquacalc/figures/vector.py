"""Drawings written as SVG directly, with parts that can move afterwards.

A number of a drawing may be a `Form`: linear in named values, such as a level. The drawing is written with
the values of now, and says for every part that depends on them how it does; `moving.js` moves those parts in
a page. Colours are classes and variables of one style sheet, so that a page can be light or dark.
"""

from __future__ import annotations

import base64
import functools
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from importlib.resources import files

#: Room that a character takes, over the size of its letters: generous, so that labels keep apart.
CHARACTER = 0.58
#: Size (px of the drawing) of letters where a page is wide, and for which room is kept: that of a phone.
TEXT, PHONE = 16.0, 18.0
#: How much wider bold letters are.
BOLD = 1.1
#: A picture is shown no narrower than this part of its width, and scrolled sideways in a narrower place:
#: smaller than that, its words cannot be read.
NARROWEST = 0.69
#: The same of a drawing whose letters are larger on a phone.
LEAST = 0.615


@functools.cache
def style() -> str:
    """Return the style sheet of all drawings."""
    text = (files("aquacalc.figures") / "drawn.css").read_text(encoding="utf-8")
    light, dark = themes(text)
    text += f":is([data-theme=light], [data-jp-theme-light=true]) .drawn {{ {light} }}"
    text += f":is([data-theme=dark], [data-jp-theme-light=false]) .drawn {{ {dark} }}"
    return re.sub(r"/\*.*?\*/|\n\s*", " ", text, flags=re.S)


def themes(text: str) -> tuple[str, str]:
    """Return the colours of a style sheet's light and dark theme, as it declares them."""
    light, dark = (" ".join(found.split()) for found in re.findall(r"(?:--\w+: #\w+;\s*)+", text)[:2])
    return light, dark


@dataclass(frozen=True)
class Form:
    """A number that is linear in named values: `base` + sum of `slopes` times value."""

    base: float = 0.0
    slopes: tuple[tuple[str, float], ...] = ()

    def __add__(self, other: Form | float) -> Form:
        if isinstance(other, Form):
            return Form(self.base + other.base, self.slopes + other.slopes)
        return Form(self.base + other, self.slopes)

    __radd__ = __add__

    def __mul__(self, by: float) -> Form:
        return Form(self.base * by, tuple((name, slope * by) for name, slope in self.slopes))

    __rmul__ = __mul__

    def __neg__(self) -> Form:
        return self * -1.0

    def __sub__(self, other: Form | float) -> Form:
        return self + -other

    def __rsub__(self, other: float) -> Form:
        return -self + other

    def at(self, values: dict[str, float]) -> float:
        """Return the number for these values."""
        return self.base + sum(slope * values[name] for name, slope in self.slopes)


def value(name: str) -> Form:
    """Return a named value as a number of a drawing."""
    return Form(0.0, ((name, 1.0),))


@dataclass(frozen=True)
class Word:
    """A word that changes, by its name."""

    name: str


Number = float | Form
Item = float | str | Form | Word


@dataclass
class Movement:
    """What of several drawings moves: their values and words of now, and every part that follows them.

    Attributes
    ----------
    values : dict of str to float
    words : dict of str to str
    moves : list of list
        [number of the part, attribute, items...]: what the attribute is put together from. An item is text,
        [base, name, slope, ...] or {"w": name of a word}.
    """

    values: dict[str, float] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    moves: list[list] = field(default_factory=list)
    parts: int = 0

    def joined(self, items: Sequence[Item]) -> str:
        """Put an attribute together as it is now."""
        return "".join(self._text(item) for item in items)

    def _text(self, item: Item) -> str:
        if isinstance(item, str):
            return item
        if isinstance(item, Word):
            return self.words[item.name]
        return _number(item.at(self.values) if isinstance(item, Form) else item)


def _number(number: float) -> str:
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _plain(items: Sequence[Item]) -> list:
    """Return items as JSON has them; what stays as it is is one text."""
    found: list = []
    for item in items:
        if isinstance(item, Form):
            slopes = (x for name, slope in item.slopes for x in (name, round(slope, 3)))
            found.append([round(item.base, 3), *slopes])
        elif isinstance(item, Word):
            found.append({"w": item.name})
        else:
            text = item if isinstance(item, str) else _number(item)
            if found and isinstance(found[-1], str):
                found[-1] += text
            else:
                found.append(text)
    return found


class Drawing:
    """One SVG in the making, `width` by `height` px; x to the right and y down.

    Parameters
    ----------
    width, height : float
    movement : Movement, optional
        Shared by drawings that move together.
    letters : float
        Largest size that its text is shown with, px, which labels leave room for.
    """

    def __init__(self, width: float, height: float, movement: Movement | None = None, letters: float = TEXT):
        self.width, self.height, self.letters = width, height, letters
        self.alt, self.role = "", ""
        self.defined: set[str] = set()
        self.movement = Movement() if movement is None else movement
        self.out: list[str] = []
        self.texts: list[tuple[float, float, float, float, str]] = []

    def add(
        self, tag: str, cls: str = "", inside: str | Word = "", closed: bool = True, **attributes
    ) -> None:
        """Write an element; an attribute is text, a number, a `Form`, a `Word` or a tuple of them."""
        m, parts, followed = self.movement, [f"<{tag}"], []
        if cls:
            parts.append(f' class="{cls}"')
        for name, given in attributes.items():
            items = given if isinstance(given, tuple) else (given,)
            name = name.rstrip("_").replace("_", "-")
            if any(isinstance(item, Form | Word) for item in items):
                followed.append([name, *_plain(items)])
            parts.append(f' {name}="{escape(m.joined(items))}"')
        if isinstance(inside, Word):
            followed.append(["text", {"w": inside.name}])
            inside = m.words[inside.name]
        if followed:
            parts.append(f' data-m="{m.parts}"')
            m.moves += [[m.parts, *each] for each in followed]
            m.parts += 1
        end = f">{escape(inside, quote=False)}</{tag}>" if inside or tag == "text" else "/>"
        self.out.append("".join(parts) + (end if closed else ">"))

    def open(self, tag: str = "g", cls: str = "", **attributes) -> None:
        """Begin an element that holds others; `shut` ends it."""
        self.add(tag, cls, closed=False, **attributes)

    def shut(self, tag: str = "g") -> None:
        """End an element."""
        self.out.append(f"</{tag}>")

    def path(self, points: Sequence[tuple[Number, Number]], cls: str, close: bool = False, **more) -> None:
        """Draw straight lines through `points`."""
        self.add("path", cls, d=outline(points, close), **more)

    def paths(self, lines: Sequence[Sequence[tuple[Number, Number]]], cls: str, **more) -> None:
        """Draw several lines as one part."""
        self.add("path", cls, d=tuple(item for line in lines for item in outline(line)), **more)

    def text(
        self, x: float, y: Number, said: str | Word, cls: str = "", size: float | None = None, **more
    ) -> None:
        """Write a line of text of `size` px at (`x`, `y`), its middle if `cls` has "m", its end if "e"."""
        now = self.movement.words[said.name] if isinstance(said, Word) else said
        size, names = self.letters if size is None else size, cls.split()
        wide = text_width(now, size) * (BOLD if "b" in names else 1.0)
        left = x - (0.5 * wide if "m" in names else wide if "e" in names else 0.0)
        middle = y.at(self.movement.values) if isinstance(y, Form) else y
        if now:
            self.texts.append((left, middle - 0.5 * size, left + wide, middle + 0.5 * size, now))
        self.add("text", cls, said, x=x, y=y + 0.35 * TEXT, **more)

    def svg(self, styled: bool = False, beside: bool = False) -> str:
        """Return the `<svg>` element, `styled` to stand alone or to stand `beside` another."""
        box = f"0 0 {_number(self.width)} {_number(self.height)}"
        sheet = f"<style>{style()}</style>" if styled else ""
        # Two drawings share a row where their words stay 11 px high; on a phone they are scrolled first.
        least = f"max({LEAST * self.width:.0f}px,min(100%,{NARROWEST * self.width:.0f}px))"
        place = f' style="flex:{self.width:.0f} 1 0;min-width:{least}"' if beside else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawn{self.role and " " + self.role}"{place} '
            f'viewBox="{box}" role="img" aria-label="{escape(self.alt)}">{sheet}{"".join(self.out)}</svg>'
        )


@dataclass(frozen=True)
class Drawn:
    """A finished picture of one drawing, or of two that stand side by side where there is room.

    Attributes
    ----------
    parts : tuple of Drawing
    alt : str
        What they show, in words.
    """

    parts: tuple[Drawing, ...]
    alt: str

    def svg(self, prefix: str = "fig", styled: bool = True) -> str:
        """Return it as HTML; `prefix` begins its ids, and with `styled` its style sheet comes along."""
        sheet = f"<style>{style()}</style>" if styled else ""
        found = "".join(part.svg(beside=len(self.parts) > 1) for part in self.parts)
        found = found.replace("cut-", f"{prefix}-cut-")
        if len(self.parts) > 1:
            return f'<div class="moving">{sheet}{found}</div>'
        return found.replace(">", f">{sheet}", 1)

    def html(self) -> str:
        """Return it for a notebook: each drawing as an image with its text equivalent."""
        images = []
        for part in self.parts:
            data = base64.b64encode(part.svg(styled=True).encode()).decode()
            least, most = (0.0 if len(self.parts) > 1 else NARROWEST * part.width), part.width
            place = f"min-width:{least:.0f}px;max-width:{most:.0f}px;flex:{most:.0f} 1 {0.5 * most:.0f}px"
            images.append(
                f'<img src="data:image/svg+xml;base64,{data}" alt="{escape(part.alt)}" style="{place}">'
            )
        return (
            '<figure tabindex="0" style="margin:0 0 0.5em;display:flex;flex-wrap:wrap;gap:0.6em;'
            f'align-items:flex-end;overflow-x:auto">{"".join(images)}</figure>'
        )


def outline(points: Sequence[tuple[Number, Number]], close: bool = False) -> tuple[Item, ...]:
    """Return the `d` of straight lines through points, as items."""
    items: list[Item] = []
    for k, (x, y) in enumerate(points):
        items += ["L" if k else "M", x, " ", y]
    return (*items, "Z") if close else tuple(items)


def text_width(text: str, size: float = PHONE) -> float:
    """Estimate the width (px) of a line of text of `size` px."""
    return len(text) * CHARACTER * size


def fit(text: str, width: float, size: float = PHONE) -> str:
    """Shorten `text` of `size` px to `width` (px), with an ellipsis when something is left out."""
    most = max(int(width / (CHARACTER * size)), 2)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def nice_ticks(low: float, high: float, most: int = 8) -> list[float]:
    """Return round values from `low` to `high` (of one unit), at most `most` of them.

    Steps are 1, 2 or 5 times a power of ten.
    """
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    step = next(power * f for f in (1.0, 2.0, 5.0, 10.0) if (high - low) / (power * f) <= most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Move labels as little as needed so that none overlaps the next from `low` to `high` (any unit).

    Parameters
    ----------
    wanted : sequence of float
        Middles, in any order.
    sizes : sequence of float
        Room each label takes along the line; all are scaled down when they do not fit together.

    Returns
    -------
    list of float
        Middles in the order given.
    """
    total = sum(sizes)
    scale = min(1.0, (high - low) / total) if total > 0.0 else 1.0
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    # Blocks of touching labels, each put where its members want it on average (pool adjacent violators).
    blocks: list[list[float]] = []  # mean of (wanted - offset), count
    offsets: list[float] = []
    offset = 0.0
    for k in order:
        half = 0.5 * scale * sizes[k]
        offsets.append(offset + half)
        blocks.append([min(max(wanted[k], low + half), high - half) - offsets[-1], 1])
        offset += 2.0 * half
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            mean, count = blocks.pop()
            before = blocks[-1]
            before[0] = (before[0] * before[1] + mean * count) / (before[1] + count)
            before[1] += count
    placed = [0.0] * len(wanted)
    rank = 0
    for mean, count in blocks:
        for _ in range(int(count)):
            placed[order[rank]] = min(max(mean, low), high - offset) + offsets[rank]
            rank += 1
    return placed
