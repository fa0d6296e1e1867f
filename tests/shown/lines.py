"""A file that a reader sees as lines of words and numbers, and how two of them differ."""

from __future__ import annotations

import base64
import html
import json
import re
from collections.abc import Iterator
from urllib.parse import unquote

NUMBER = re.compile(r"(?<![\w#])-?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?")
#: Digits of a number that is written with more than any reader is shown.
DIGITS = 7
#: Counts below this are exact; a greater whole number may be a size that was rounded.
COUNTS = 100
#: Numbers kept of a line that is drawn through more points.
POINTS = 40
#: What changes from run to run.
TODAY = re.compile(r"\b20\d\d-\d\d-\d\d( \d\d:\d\d)?\b")
SIZE = re.compile(r"\(\d+ kB\)")  # of a page, scripts and all
PANEL = re.compile(r"panel\d+")
HATCH = re.compile(r"\bmap-h[0-9a-f]{10}\b")  # named by matplotlib's release
_TAG = re.compile(r"(<[^>]*>)")
_UNSEEN = re.compile(r"<(script|style)\b[^>]*>.*?</\1>|<!--.*?-->|<meta\b[^>]*>", re.DOTALL)
_PICTURE = re.compile(r"data:image/svg\+xml(;base64)?,([^\"'\s)]+)")
_PATH = re.compile(r'(?<= )(d|points|transform)="([^"]*)"')


def lines(name: str, text: str) -> list[str]:
    """Return the lines of a file; of markup a line each for tags and what stands between them."""
    text = SIZE.sub("", TODAY.sub("DATE", PANEL.sub("panel", HATCH.sub("map-h", text))))
    if name.endswith(".json"):
        return _plain(json.dumps(_short(json.loads(text)), indent=0, ensure_ascii=False))
    if name.endswith((".html", ".svg")):
        return list(_markup(text))
    return [line.rstrip() for line in text.splitlines()]


def _plain(text: str) -> list[str]:
    return [line.rstrip() for line in text.splitlines() if line.strip()]


def _short(value):
    """Return JSON with numbers of at most `DIGITS` digits."""
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}") if abs(value) > 1e-9 else 0.0
    if isinstance(value, dict):
        return {key: _short(one) for key, one in value.items()}
    return [_short(one) for one in value] if isinstance(value, list) else value


def _markup(text: str) -> Iterator[str]:
    for part in _TAG.split(_UNSEEN.sub("", text)):
        if part.strip():
            pictures = list(_PICTURE.finditer(part))
            yield from _plain(_PATH.sub(_thinned, _PICTURE.sub("picture", part)))
            for coded, picture in (found.groups() for found in pictures):
                svg = base64.b64decode(picture).decode() if coded else unquote(html.unescape(picture))
                yield from _markup(svg)


def _thinned(found: re.Match) -> str:
    """Set the numbers of a path apart, and keep some of those of a long one."""
    parts = re.findall(r"[A-Za-z]+|-?[\d.]+(?:e-?\d+)?", found[2])
    step = -(-len(parts) // POINTS)
    kept = " ".join(parts if step == 1 else parts[:: step + (step % 2 == 0)])
    return f'{found[1]}="{kept}"' + (f" of {len(parts)}" if step > 1 else "")


def differ(old: list[str], new: list[str]) -> tuple[str, str] | None:
    """Return the first two lines that differ, None when all are alike; "" is a line that is not there."""
    for was, now in zip(old, new, strict=False):
        if was != now and not _alike(was, now):
            return was, now
    if len(old) == len(new):
        return None
    at = min(len(old), len(new))
    return "".join(old[at : at + 1]), "".join(new[at : at + 1])


def _alike(was: str, now: str) -> bool:
    if NUMBER.split(was) != NUMBER.split(now):
        return False
    return all(_near(a, b) for a, b in zip(NUMBER.findall(was), NUMBER.findall(now), strict=True))


def _near(was: str, now: str) -> bool:
    a, b = float(was), float(now)
    if a == b:
        return True
    unit = min(_unit(was), _unit(now))
    if unit == 1.0 and max(abs(a), abs(b)) < COUNTS:
        return False
    return abs(a - b) <= max(1.001 * unit, 2.0 * 10.0**-DIGITS * max(abs(a), abs(b)))


def _unit(number: str) -> float:
    """Size of one in the last digit."""
    mantissa, _, power = number.partition("e")
    return 10.0 ** (int(power or 0) - len(mantissa.partition(".")[2]))
