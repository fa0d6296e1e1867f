"""The first screen of the page: verdict, water, what to look for first, margins as bars."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from aquacalc.report import summary
from aquacalc.report.records import Report
from aquacalc.report.text import verdict
from aquacalc.units import typeset

#: What a verdict looks like beside its word and colour: a tick in a circle, a question mark in a triangle, a
#: cross in a square; paths on 24 by 24.
SHAPES = {
    "works": '<circle cx="12" cy="12" r="10.5"/><path d="M6.5 12.5l4 4 7-8.5"/>',
    "may or may not": (
        '<path d="M12 1.8L23 22H1z"/><path d="M9.3 11.2c.2-3.6 5.6-3.4 5.4.1-.1 1.9-2.6 2-2.7 4.2"/>'
        '<path d="M12 18.6v.3"/>'
    ),
    "does not": '<path d="M1.8 1.8h20.4v20.4H1.8z"/><path d="M7 7l10 10M17 7L7 17"/>',
}


def state_class(state: str) -> str:
    """Return the class of a state or a verdict in the style sheet."""
    return state.replace(" ", "-")


def verdict_markup(report) -> str:
    """Write the verdict with its shape; `report` has `verdict` and `findings`."""
    return (
        f'<p class="verdict {state_class(report.verdict)}"><svg class="shape" viewBox="0 0 24 24" '
        f'aria-hidden="true">{SHAPES[report.verdict]}</svg><span>{escape(typeset(verdict(report)))}</span></p>'
    )


def first_screen(report: Report, picture: str, sliders: str = "") -> Iterator[str]:
    """Write the first screen.

    Parameters
    ----------
    report : Report
    picture : str
        The section with its water levels, as a figure.
    sliders : str
        A part with sliders, which has the verdict and the section; "" for none.

    Yields
    ------
    str
    """
    plan = report.plan
    yield f"<header><h1>{escape(plan.name)}</h1>"
    yield sliders or verdict_markup(report)
    if sliders:
        units = "US" if plan.units == "us" else "metric"
        yield (
            f'<p class="soft">From here on: the plan as it is in its file, in {units} units. Neither the '
            "sliders nor the switch of units changes what follows.</p>"
        )
    yield '<div class="first"><div>'
    yield _facts(report)
    change = summary.change(report)
    if change is not None:
        yield f'<p class="change"><strong>{change[0]}:</strong> {escape(typeset(change[1]))}</p>'
    for words in summary.leaning(report.turns, report.verdict):
        yield f"<p><strong>{summary.CLOSEST[report.verdict]}:</strong> {escape(typeset(words))}</p>"
    yield f"</div><div>{picture}"
    yield from _bars(report)
    yield "</div></div>"
    if plan.note:
        yield f'<p class="soft">{escape(plan.note)}</p>'
    yield "</header>"


def _facts(report: Report) -> str:
    """Write the lines of the summary; those of one label share it."""
    items, before = [], ""
    for label, words in summary.facts(report):
        split = words.split("; ") if label in ("Beds", "Fill the sump to") else [words]
        parts = "".join(f"<span>{escape(typeset(part))}</span>" for part in split)
        term = f"<dt>{escape(label)}</dt>" if label != before else '<dt class="unseen">and</dt>'
        items.append(f"<div>{term}<dd>{parts}</dd></div>")
        before = label
    return f'<dl class="facts">{"".join(items)}</dl>'


def _bars(report: Report) -> Iterator[str]:
    """Draw the tightest margins; a full bar is at its limit, one past it is hatched and says so."""
    bars = summary.bars(report)
    if not bars:
        return
    yield '<h2 class="small">Margins, tightest first</h2><ul class="bars">'
    for bar in bars:
        full = 100.0 * min(bar.used, 1.0)
        past = "past its limit" if bar.used > 1.0 else f"{full:.0f} % of what is allowed"
        yield (
            f'<li class="{state_class(bar.state)}"><span class="name">{escape(bar.title)}</span>'
            f'<svg viewBox="0 0 104 10" preserveAspectRatio="none" role="img" aria-label="{past}">'
            f'<rect class="room" width="100" height="10"/><rect class="used" width="{full:.1f}" height="10"/>'
            f'<path d="M100 0v10"/></svg><span class="words">{escape(typeset(bar.words))}</span></li>'
        )
    yield "</ul>"
