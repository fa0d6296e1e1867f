"""The set-up on the bench, drawn by hand as SVG: bucket, standpipe, bell, tail, hose and jug."""

from __future__ import annotations

from html import escape

from aquacalc.plan.model import Plan, Siphon
from aquacalc.units import show

_WIDTH, _HEIGHT = 720, 470
_LINE = 'fill="none" stroke="#1a1a1a" stroke-width="2"'
_THIN = 'stroke="#5f5f5f" stroke-width="1"'
_WATER = 'fill="#9ccbe8"'
_LEVEL = 'stroke="#00528a" stroke-width="2" stroke-dasharray="7 3"'
#: Elevations on the drawing, px from its top: it shows what goes where, and is not to scale.
_RIM, _ROOF, _LIP, _BELL_RIM, _FLOOR, _END = 70, 100, 140, 292, 320, 412
_LEFT, _RIGHT, _MIDDLE = 180, 420, 300


def setup_drawing(plan: Plan, siphon: Siphon) -> tuple[str, str]:
    """Draw the set-up, not to scale, with the sizes of the plan.

    Parameters
    ----------
    plan : Plan
    siphon : Siphon

    Returns
    -------
    tuple of (str, str)
        One `<svg>` element, and the same in words.
    """
    s, stand, bell, tail = plan.units, siphon.standpipe, siphon.bell, siphon.tail
    drop = plan.vessel(siphon.host).floor - tail.outlet

    def size(value: float) -> str:
        return show(value, "length", s)

    heights = [
        (_ROOF, f"under the bell's top {size(bell.top_height)}"),
        (_LIP, f"lip {size(stand.height)}, {size(stand.lip_diameter)} wide"),
        (_BELL_RIM, f"bell's rim {size(bell.rim_height)}: air enters"),
        (_FLOOR, "bucket's floor 0"),
        (_END, f"tail's end {size(drop)} below the floor"),
    ]
    alt = (
        "Set-up, not to scale. A bucket stands at the edge of a bench. In it stands the standpipe, bore "
        f"{size(stand.pipe.bore)}, with the bell over it; its tail goes through the bucket's floor and ends "
        "in the air over a tub. The hose ends above the bucket's rim. Heights above the bucket's floor: "
        + "; ".join(words for _, words in heights)
        + "."
    )
    parts = [
        f'<rect x="{_LEFT}" y="{_LIP - 8}" width="{_RIGHT - _LEFT}" height="{_FLOOR - _LIP + 8}" {_WATER}/>',
        f'<path d="M{_LEFT} {_RIM} V{_FLOOR} H{_RIGHT} V{_RIM}" {_LINE}/>',
        # the bench, cut where the tail goes down
        f'<path d="M120 {_FLOOR + 4} H{_MIDDLE - 26} M{_MIDDLE + 26} {_FLOOR + 4} H{_RIGHT + 30}" '
        'fill="none" stroke="#707070" stroke-width="8"/>',
        # bell, with an opening at its foot on either side
        f'<path d="M{_MIDDLE - 46} {_BELL_RIM} V{_ROOF} H{_MIDDLE + 46} V{_BELL_RIM}" {_LINE}/>',
        f'<path d="M{_MIDDLE - 46} {_FLOOR} v-6 M{_MIDDLE + 46} {_FLOOR} v-6" {_LINE}/>',
        _pipe(stand.lip_diameter > stand.pipe.bore * 1.001),
        f'<path d="M{_LEFT} {_LIP - 8} H{_MIDDLE - 46} M{_MIDDLE + 46} {_LIP - 8} H{_RIGHT}" {_LEVEL}/>',
        # tub under the tail, with water and a jug
        f'<rect x="206" y="440" width="188" height="22" {_WATER}/>',
        f'<path d="M206 424 V462 H394 V424" {_LINE}/>',
        # hose with its valve, ending above the rim
        '<path d="M8 40 H214 q16 0 16 14" fill="none" stroke="#5f5f5f" stroke-width="9"/>',
        f'<path d="M92 30 L112 50 M112 30 L92 50 M102 40 V22" {_LINE}/>',
        f'<path d="M230 60 V{_LIP - 12}" stroke="#00528a" stroke-width="3" stroke-dasharray="3 3"/>',
        f'<path d="M30 372 v58 h58 v-58 M88 384 q18 0 18 14 q0 14 -18 14" {_LINE}/>',
        f'<rect x="31" y="396" width="56" height="33" {_WATER}/>',
        f'<path d="M30 396 h-8" {_THIN}/>',
        _text(102, 16, "hose with a valve", "middle"),
        _text(236, 30, "its end stays above the bucket's rim", "start"),
        _text(14, 366, "jug with a mark, and a watch", "start"),
        _text(404, 452, "tub", "start"),
        _text(_LEFT - 8, 200, "bucket", "end"),
    ]
    for y, words in heights:
        edge = _RIGHT if y != _END else _MIDDLE + 14
        parts.append(f'<path d="M{edge} {y} H466" {_THIN}/>')
        parts.append(_text(472, y + 4, words, "start"))
    parts.append(_text(_WIDTH - 8, _HEIGHT - 6, "not to scale", "end"))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" '
        f'aria-label="{escape(alt)}" font-size="13" fill="#1a1a1a" '
        "font-family=\"'DejaVu Sans', Verdana, Arial, sans-serif\">"
    )
    return head + "\n".join(parts) + "</svg>", alt


def _pipe(reduced: bool) -> str:
    """Draw standpipe and tail as one pipe, with a reducer on top where there is one."""
    wide = 24 if reduced else 14
    return (
        f'<path d="M{_MIDDLE - 14} {_END} V{_LIP + 26} L{_MIDDLE - wide} {_LIP} '
        f'M{_MIDDLE + 14} {_END} V{_LIP + 26} L{_MIDDLE + wide} {_LIP}" {_LINE}/>'
        f'<rect x="{_MIDDLE - 12}" y="{_LIP + 26}" width="24" height="{_END - _LIP - 26}" fill="#ffffff"/>'
    )


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return f'<text x="{x}" y="{y}" text-anchor="{anchor}">{escape(words)}</text>'
