"""A plan's live page: one file with sliders that answers without Python and without a network."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import asdict, fields, is_dataclass, replace
from html import escape

from aquacalc import __version__
from aquacalc.figures.section import moving_section
from aquacalc.live import ENGINE, MOVING, SCRIPT
from aquacalc.live.answer import answer, drawn, told
from aquacalc.live.settings import moved
from aquacalc.live.sliders import Slider, saved, sliders
from aquacalc.pages.skeleton import packed, skeleton
from aquacalc.plan.model import Plan
from aquacalc.plan.write import write_plan
from aquacalc.report.first_screen import verdict_markup
from aquacalc.report.html import findings_markup
from aquacalc.units import show, typeset

#: What a page with sliders runs.
SCRIPTS = (ENGINE, *(re.sub(r"(?m)^[ \t]+|^//.*\n", "", script) for script in (MOVING, SCRIPT)))
#: Width of the pictures that stand in the page before it runs, in CSS pixels.
WIDTH = 340.0
SYSTEMS = {"metric": "Metric", "us": "US"}
PICTURES = {"beds": "Beds", "siphon": "Siphon", "levels": "Levels", "window": "Inflow"}
#: Findings, worst first, that stand in the page before it runs: it has to stay small.
FIRST = 6
HOW = (
    "If the sliders do not answer, this file is being shown and not run: many phones only show a file that "
    "comes by message or from a download. Open it in a browser (Share or ⋮, then the browser's name), or let "
    "your teacher serve it on the room's own network."
)


def live_page(plan: Plan, system: str | None = None) -> str:
    """Write a plan's live page.

    Parameters
    ----------
    plan : Plan
        Checked.
    system : {"metric", "us"}, optional
        Units that it opens with; the plan's own if not given.

    Returns
    -------
    str
        HTML: the plan, its text and the version that made it are inside.
    """
    note = f'<p class="soft">{escape(plan.note)}</p>' if plan.note else ""
    mains = {of: f"{live_plan(plan, of, folded=False)}{note}" for of in SYSTEMS}
    shown = switched(mains, system or plan.units)
    body = f"<header><h1>{escape(plan.name)}</h1></header><main>{shown}</main>"
    return skeleton(f"{plan.name}, live", body, kind="live", scripts=SCRIPTS)


def switched(mains: dict[str, str], system: str) -> str:
    """Write a part of a page in one system of units, with a switch to the other, which is packed."""
    choices = "".join(
        f'<label><input type="radio" name="units" value="{of}"{" checked" * (of == system)}>{title}</label>'
        for of, title in SYSTEMS.items()
    )
    (other,) = (text for of, text in mains.items() if of != system)
    return (
        f'<p class="still">{HOW}</p><fieldset class="choice units"><legend class="unseen">Units</legend>'
        f'{choices}</fieldset><div class="switched">{mains[system]}</div>'
        f'<script type="text/plain" class="other-units">{packed(other)}</script>'
    )


def live_plan(
    plan: Plan, system: str, keys: Sequence[str] = (), number: int = 0, *, still: bool = True,
    folded: bool = True,
) -> str:  # fmt: skip
    """Write a plan with sliders as a part of a page that runs `SCRIPTS`.

    Parameters
    ----------
    plan : Plan
    system : {"metric", "us"}
    keys : sequence of str
        Of `settings.SETTINGS`: the sliders wanted; all if none is named.
    number : int
        Of this part in its page.
    still : bool
        Whether levels, window and findings are there before it runs.
    folded : bool
        Whether the findings are folded away.
    """
    found = [s for s in sliders(plan, system) if not keys or s.key in keys]
    shown = replace(plan, units=system, text="", marks={})
    first = answer(shown, [])
    written = drawn(first, WIDTH) | told(first, WIDTH) | {"verdict": verdict_markup(first)}
    ends = [
        moved(shown, [(s.key, s.place, n * s.per / s.over)])
        for s in found for n in (s.low, s.high) if s.key == "height"
    ]  # fmt: skip
    section = moving_section(shown, first.run, None, ends, prefix=f"live{number}")
    worst = [f for f in first.findings if f.state != "good"][:FIRST]
    written["findings"] = "".join(findings_markup(worst, system, ()))
    parts = {key: written[key] if still else "" for key in ("levels", "window", "findings")}
    pictures = f'<div class="picture section">{section}</div>' + "".join(
        f'<div class="picture {key}" data-part="{key}">{parts[key]}</div>' for key in ("levels", "window")
    )
    choices = "".join(
        f'<label><input type="radio" name="picture{number}" value="{key}"{" checked" * (k == 0)}>'
        f"{title}</label>"
        for k, (key, title) in enumerate(PICTURES.items())
    )
    findings = (
        f'<details class="fold"{"" if folded or not worst else " open"}><summary><h2>What is found</h2>'
        f'</summary><div data-part="findings">{parts["findings"]}</div></details>'
    )
    return (
        '<div class="live-plan"><div class="table"><div class="stage">'
        f'<div data-part="verdict" aria-live="polite">{written["verdict"]}</div>'
        f'<fieldset class="choice"><legend class="unseen">Picture</legend>{choices}</fieldset>{pictures}'
        f'</div><ul class="result" data-part="result">{written["result"]}</ul>'
        f"{_form(found, system, number)}"
        f"</div>{findings}<details><summary>The plan as a file</summary>"
        f'<label class="unseen" for="toml{number}">Text of the plan</label>'
        f'<textarea id="toml{number}" readonly rows="20" spellcheck="false"></textarea></details>'
        f"{_data(shown, plan, found)}</div>"
    )


def slider_rows(found: list[Slider], system: str, number: int) -> str:
    """Write sliders with their buttons; `number` is that of their part in the page."""
    rows = []
    for k, slider in enumerate(found):
        words, label, name = _words(slider, system), escape(slider.label), f"s{number}-{k}"
        rows.append(
            f'<div class="slider"><label for="{name}">{label}</label>'
            f'<output for="{name}">{escape(words)}</output>'
            f'<button type="button" data-by="-1" aria-label="{label}: less">−</button>'
            f'<input type="range" id="{name}" min="{slider.low}" max="{slider.high}" '
            f'value="{own_number(slider)}" aria-valuetext="{escape(words)}">'
            f'<button type="button" data-by="1" aria-label="{label}: more">+</button></div>'
        )
    return "".join(rows)


def _form(found: list[Slider], system: str, number: int) -> str:
    return (
        f'<form class="sliders" autocomplete="off">{slider_rows(found, system, number)}'
        '<p class="buttons"><button type="button" class="undo">Back to the plan as it was</button>'
        '<button type="button" class="save">Save the plan (TOML)</button></p></form>'
    )


def own_number(slider: Slider) -> int:
    """Return the number of a slider that is nearest to the plan's own value."""
    return round(slider.start * slider.over / slider.per)


def _words(slider: Slider, system: str) -> str:
    if slider.sizes:
        return slider.sizes[int(slider.start)].size
    words = show(slider.start, slider.kind, system) if slider.unit else f"{slider.start:g}"
    return typeset(words)


def _data(shown: Plan, plan: Plan, found: list[Slider]) -> str:
    """Write what the page computes with as JSON, which no browser runs."""
    paths, pieces = saved(plan, found)
    rows = []
    for slider in found:
        used = ("key", "place", "unit", "low", "high", "per", "over", "step", "decimals")
        row = {name: getattr(slider, name) for name in used}
        row |= {"sizes": as_json(slider.sizes), "own": own_number(slider), "path": slider.paths[0][0]}
        rows.append(row | {"words": _words(slider, shown.units)})
    data = {
        "version": __version__,
        "file": f"{re.sub(r'[^A-Za-z0-9]+', '-', plan.name).strip('-').lower() or 'plan'}.toml",
        "plan": as_json(shown),
        "sliders": rows,
        "paths": [asdict(path) for path in paths],
        "pieces": pieces,
    }
    whole = write_plan(plan)
    if whole != "".join(piece["before"] for piece in pieces):
        data["original"] = whole
    return _block("plan-data", data) + _block("plan-moved", {})


def _block(name: str, data: dict) -> str:
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return f'<script type="application/json" class="{name}">{text}</script>'


def as_json(value):
    """Return a plan, or any part of one, as the page reads it back into records; defaults are left out."""
    if is_dataclass(value):
        given = {f.name: getattr(value, f.name) for f in fields(value) if getattr(value, f.name) != f.default}
        inside = {name: as_json(one) for name, one in given.items()}
        return {"$": type(value).__name__, **inside}
    if isinstance(value, list | tuple):
        return [as_json(v) for v in value]
    return value
