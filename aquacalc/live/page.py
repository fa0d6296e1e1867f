"""A plan's live page: one file with sliders that answers without Python and without a network."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, fields, is_dataclass, replace
from html import escape

from aquacalc import __version__
from aquacalc.live import ENGINE, SCRIPT
from aquacalc.live.answer import answer, parts
from aquacalc.live.sliders import Slider, saved, sliders
from aquacalc.pages.skeleton import skeleton
from aquacalc.plan.model import Plan
from aquacalc.plan.write import write_plan
from aquacalc.units import show

#: Width of the pictures that stand in the page before it runs, in CSS pixels.
WIDTH = 340.0
PICTURES = {"levels": "Levels", "window": "Inflow"}
HOW = (
    "If the sliders do not answer, this file is being shown and not run: many phones only show a file that "
    "comes by message or from a download. Open it in a browser (Share or ⋮, then the browser's name), or let "
    "your teacher serve it on the room's own network (aquacalc live --serve FOLDER)."
)


def live_page(plan: Plan, system: str | None = None) -> str:
    """Write a plan's live page.

    Parameters
    ----------
    plan : Plan
        Checked.
    system : {"metric", "us"}, optional
        Units of the sliders; the plan's own if not given.

    Returns
    -------
    str
        HTML: the plan, its text and the version that made it are inside.
    """
    system = system or plan.units
    found = sliders(plan, system)
    shown = replace(plan, units=system)
    first = parts(answer(replace(shown, text="", marks={}), []), WIDTH)
    body = "".join(
        (_head(plan, first), _moving(found, system), _below(first, plan), _data(shown, plan, found))
    )
    return skeleton(f"{plan.name}, live", body, kind="live", scripts=(ENGINE, SCRIPT))


def _head(plan: Plan, first: dict[str, str]) -> str:
    choices = "".join(
        f'<label><input type="radio" name="picture" value="{key}"{" checked" * (k == 0)}>{title}</label>'
        for k, (key, title) in enumerate(PICTURES.items())
    )
    pictures = "".join(f'<div class="picture {key}" id="{key}">{first[key]}</div>' for key in PICTURES)
    return (
        f'<header><h1>{escape(plan.name)}</h1></header><div class="table"><div class="stage">'
        f'<div id="verdict" aria-live="polite">{first["verdict"]}</div>'
        f'<fieldset class="choice"><legend class="unseen">Picture</legend>{choices}</fieldset>{pictures}'
        f'<ul id="result">{first["result"]}</ul></div>'
    )


def _moving(found: list[Slider], system: str) -> str:
    rows = []
    for k, slider in enumerate(found):
        words = _words(slider, system)
        label = escape(slider.label)
        rows.append(
            f'<div class="slider"><label for="s{k}">{label}</label>'
            f'<output for="s{k}">{escape(words)}</output>'
            f'<button type="button" data-by="-1" aria-label="{label}: less">−</button>'
            f'<input type="range" id="s{k}" min="{slider.low}" max="{slider.high}" value="{_own(slider)}" '
            f'aria-valuetext="{escape(words)}">'
            f'<button type="button" data-by="1" aria-label="{label}: more">+</button></div>'
        )
    return (
        f'<form class="sliders" autocomplete="off"><h2 class="unseen">Sliders</h2>{"".join(rows)}'
        '<p class="buttons"><button type="button" id="back">Back to the plan as it was</button>'
        '<button type="button" id="save">Save the plan (TOML)</button></p></form></div>'
    )


def _below(first: dict[str, str], plan: Plan) -> str:
    note = f'<p class="soft">{escape(plan.note)}</p>' if plan.note else ""
    return (
        f'<main><p class="still">{HOW}</p><div id="findings">{first["findings"]}</div>{note}'
        "<details><summary>The plan as a file</summary>"
        '<label class="unseen" for="toml">Text of the plan</label>'
        f'<textarea id="toml" readonly rows="20" spellcheck="false">{escape(write_plan(plan))}</textarea>'
        "</details></main>"
    )


def _own(slider: Slider) -> int:
    """Return the number of a slider that is nearest to the plan's own value."""
    return round(slider.start * slider.over / slider.per)


def _words(slider: Slider, system: str) -> str:
    if slider.sizes:
        return slider.sizes[int(slider.start)].size
    return show(slider.start, slider.kind, system)


def _data(shown: Plan, plan: Plan, found: list[Slider]) -> str:
    """Write what the page computes with as JSON, which no browser runs."""
    paths, pieces = saved(plan, found)
    rows = []
    for slider in found:
        row = asdict(slider) | {
            "sizes": as_json(slider.sizes),
            "own": _own(slider),
            "path": slider.paths[0][0],
        }
        rows.append(row | {"words": _words(slider, shown.units)})
    data = {
        "version": __version__,
        "file": f"{re.sub(r'[^A-Za-z0-9]+', '-', plan.name).strip('-').lower() or 'plan'}.toml",
        "toml": write_plan(plan),
        "plan": as_json(replace(shown, text="", marks={})),
        "sliders": rows,
        "paths": [asdict(path) for path in paths],
        "pieces": pieces,
    }
    return _block("aquacalc-plan", data) + _block("aquacalc-moved", {})


def _block(name: str, data: dict) -> str:
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return f'<script type="application/json" id="{name}">{text}</script>'


def as_json(value):
    """Return a plan, or any part of one, as the page reads it back into records."""
    if is_dataclass(value):
        inside = {f.name: as_json(getattr(value, f.name)) for f in fields(value)}
        return {"$": type(value).__name__, **inside}
    if isinstance(value, list | tuple):
        return [as_json(v) for v in value]
    return value
