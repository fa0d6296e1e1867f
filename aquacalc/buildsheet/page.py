"""The build sheet as one HTML page that opens offline and prints well."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from aquacalc.buildsheet.drawing import Drawing
from aquacalc.buildsheet.sheet import BuildSheet
from aquacalc.buildsheet.steps import Step
from aquacalc.buildsheet.table import Table
from aquacalc.pages.skeleton import skeleton

#: Letters of a cell, such as a size, that stays on one line.
SHORT = 12


def page(sheet: BuildSheet, drawings: Sequence[Drawing], small: Sequence[Drawing] = ()) -> str:
    """Return the page.

    Parameters
    ----------
    sheet : BuildSheet
    drawings : sequence of Drawing
        Section and plan view, put in as SVG with their text equivalents.
    small : sequence of Drawing
        The same for a phone, shown in their place where the window is narrow.

    Returns
    -------
    str
    """
    title = f"Build sheet: {sheet.plan.name}"
    parts = [f"<h1>{escape(title)}</h1>"]
    if sheet.plan.note:
        parts.append(f"<p>{escape(sheet.plan.note)}</p>")
    if sheet.workshop.note:
        parts.append(f"<p>{escape(sheet.workshop.name)}: {escape(sheet.workshop.note)}</p>")
    if sheet.warnings:
        parts.append('<div class="stop" role="note"><strong>Before you buy or cut:</strong><ul>')
        parts += [f"<li>{escape(w)}</li>" for w in sheet.warnings]
        parts.append("</ul></div>")
    for drawing in (*drawings, *small):
        caption = f"<figcaption class=note>{escape(drawing.alt)}</figcaption>"
        kind = "drawn-small" if drawing in small else "drawn-sheet" if small else ""
        scrolled = f'<div class="scroll" tabindex="0" role="group" aria-label="{drawing.name}">'
        parts.append(f'<figure class="{kind}">{scrolled}{drawing.svg()}</div>{caption}</figure>')
    made = {table.key: table for table in sheet.tables}
    readings = made.pop("readings")
    parts += [table_html(table) for table in made.values()]
    parts.append("<h2>Steps</h2><ol>")
    parts += [_step(step) for step in sheet.steps]
    parts.append("</ol><h2>Commissioning</h2><ol>")
    parts += [_step(step) for step in sheet.checks]
    parts.append("</ol>")
    parts.append(table_html(readings))
    return skeleton(title, f"<main>\n{chr(10).join(parts)}\n</main>", kind="build")


def table_html(table: Table) -> str:
    """Return one table with its title and notes, as the page has it."""
    numeric = [table.numeric(k) for k in range(len(table.columns))]

    def row(cells: tuple[str, ...]) -> str:
        made = []
        for k, cell in enumerate(cells):
            kind = ' class="n"' if numeric[k] else ' class="short"' if len(cell) <= SHORT else ""
            if k >= len(cells) - table.blanks:
                kind = ' class="blank"'
            made.append(f"<td{kind}>{escape(cell)}</td>")
        return f"<tr>{''.join(made)}</tr>"

    head = "".join(f'<th scope="col">{escape(c)}</th>' for c in table.columns)
    foot = f"<tfoot>{row(table.total)}</tfoot>" if table.total else ""
    intro = f"<p>{escape(table.intro)}</p>" if table.intro else ""
    notes = "".join(f'<p class="note">{escape(note)}</p>' for note in table.notes)
    body = "\n".join(row(r) for r in table.rows)
    return (
        f'<section id="{table.key}"><h2>{escape(table.title)}</h2>{intro}'
        f'<div class="scroll" tabindex="0" role="group" aria-label="{escape(table.title)}"><table>'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody>{foot}</table></div>{notes}</section>"
    )


def _step(step: Step) -> str:
    cautions = "".join(f'<p class="caution"><strong>Caution.</strong> {escape(c)}</p>' for c in step.cautions)
    blanks = "".join(f"<span>&#9744; {escape(b)}</span>&emsp;" for b in step.blanks)
    return f"<li><strong>{escape(step.title)}.</strong> {escape(step.text)}{cautions}<p>{blanks}</p></li>"
