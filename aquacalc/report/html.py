"""The report as one page that opens offline: no request, every number with its calculation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

from aquacalc import __version__
from aquacalc.design.advice import Advice, mends
from aquacalc.findings import Finding
from aquacalc.findings.record import alike, also
from aquacalc.pages.maths import Workings, source_text
from aquacalc.pages.skeleton import skeleton
from aquacalc.report.first_screen import first_screen, state_class
from aquacalc.report.records import TEXT, Report, Row, Section, Table, shown
from aquacalc.report.summary import tried
from aquacalc.report.text import CHANGES
from aquacalc.units import typeset

TAGS = {
    "does not": "Does not work",
    "may or may not": "May or may not work",
    "watch": "Watch",
    "good": "Fine",
}
#: Ends a section that folds.
END = "</details></section>"
CAUTIONS = (
    "Water and mains: plug the pump into an outlet with a residual-current device (ground-fault "
    "interrupter), with a drip loop in its cable, and unplug it before you reach into the sump.",
    "Weight: a flooded bed weighs as much as several people. Let someone licensed check the floor, bench or "
    "frame against your local code.",
    "Holes: measure the seal or fitting that was delivered before you drill. Seals of one "
    "name differ by maker.",
    "Try it dry-fitted: fill, start and drain the siphon a few times before anything is glued.",
    "Small children: cover the sump and the chamber.",
)


def page(report: Report, sliders: str = "", scripts: tuple[str, ...] = ()) -> str:
    """Write the report as one HTML page.

    Parameters
    ----------
    report : Report
        As `aquacalc.report.content.build_report` gives it; its run must hold a trace.
    sliders : str
        A part with sliders for the top of the page, as `aquacalc.live.page.switched` writes it; "" for none.
    scripts : tuple of str
        What that part runs; nothing else runs.

    Returns
    -------
    str
        A whole page: style and pictures inside, nothing fetched.
    """
    plan = report.plan
    workings = Workings(plan.units)
    several = len(plan.siphons) > 1
    sections = [(f"s{k}", s, _title(s, several)) for k, s in enumerate(report.sections)]
    body = [
        *first_screen(report, "" if sliders else _water(report), sliders),
        _contents(sections),
        "<main>",
        *_fold("findings", "Findings", unfolded=any(f.state != "good" for f in report.findings)),
        *findings_markup(report.findings, plan.units, report.advice),
        END,
        *_pictures(report),
    ]
    for anchor, section, title in sections:
        body += _section(anchor, section, title, plan.units, workings)
    body += [*_assumptions(workings), *_cautions(), *_sources(workings)]
    foot = (
        f"Written by aquacalc {__version__} from a plan file. Estimates, not a guarantee: try the siphon "
        "before you glue it."
    )
    title = f"{plan.name}: flood and drain report"
    return skeleton(title, "\n".join(body), kind="report", foot=foot, scripts=scripts)


def _title(section: Section, several: bool) -> str:
    return f"{section.title}: {section.subject}" if section.subject and several else section.title


def _contents(sections: Iterable[tuple[str, Section, str]]) -> str:
    links = [("findings", "Findings"), ("pictures", "Pictures")]
    links += [(anchor, title) for anchor, _, title in sections]
    links += [("assumptions", "Assumptions"), ("cautions", "Cautions"), ("sources", "Sources")]
    items = "".join(f'<li><a href="#{anchor}">{escape(title)}</a></li>' for anchor, title in links)
    return f'<nav aria-label="Contents"><ul>{items}</ul></nav>'


def findings_markup(findings: Iterable[Finding], system: str, advice: tuple[Advice, ...]) -> Iterator[str]:
    """Write the findings, those in order folded away; with a change that was tried where there is one."""
    findings = list(findings)
    for found in alike(f for f in findings if f.state != "good"):
        worst = found[0]
        yield (
            f'<article class="finding {state_class(worst.state)}"><h3>'
            f'<span class="tag">{TAGS[worst.state]}</span>'
            f"{escape(worst.title)}: {escape(worst.subject)}</h3>{_figures(worst, system)}"
            f"<p>{escape(typeset(worst.cause))}</p>"
        )
        if worst.change:
            yield f"<p><strong>{CHANGES[worst.state]}:</strong> {escape(typeset(worst.change))}</p>"
        for a in [a for a in advice if mends(a, worst)][:1]:
            yield f"<p><strong>A change:</strong> {escape(typeset(tried(a)))}</p>"
        if len(found) > 1:
            yield f"<details><summary>The same for: {escape(typeset(also(found[1:], system)))}</summary>"
            for other in found[1:]:
                told = other.cause if other.change == worst.change else f"{other.cause} {other.change}"
                yield f"<h4>{escape(other.subject)}</h4><p>{escape(typeset(told))}</p>"
            yield "</details>"
        yield "</article>"
    good = alike(f for f in findings if f.state == "good")
    if good:
        yield '<h3>What is fine</h3><p class="soft">Each opens into its numbers.</p><ul class="good">'
        for found in good:
            least = found[0]
            where = ", ".join(dict.fromkeys(f.subject for f in found))
            values = least.shown(system)
            if values and len(found) > 1:
                values = f"{'least at ' if least.margin is not None else ''}{least.subject}: {values}"
            yield f"<li><details><summary><strong>{escape(least.title)}</strong>: {escape(where)}"
            yield f' <span class="soft">{escape(typeset(values))}</span></summary>'
            for finding in found:
                name = f"<h4>{escape(finding.subject)}</h4>" if len(found) > 1 else ""
                yield f"{name}{_figures(finding, system)}<p>{escape(typeset(finding.cause))}</p>"
            yield "</details></li>"
        yield "</ul>"


def _figures(finding: Finding, system: str) -> str:
    """Limit and value of a finding."""
    shown = finding.shown(system)
    return f'<p class="figures">{escape(typeset(shown[0].upper() + shown[1:]))}.</p>' if shown else ""


def _pictures(report: Report) -> Iterator[str]:
    from aquacalc.figures.head_budget import head_budget, run_losses, siphon_losses
    from aquacalc.figures.inflow_window import window
    from aquacalc.figures.levels import levels
    from aquacalc.figures.section import section
    from aquacalc.hydraulics.siphon import siphon_flow

    plan, run, system = report.plan, report.run, report.plan.units
    several = len(plan.siphons) > 1
    yield from _fold("pictures", "Pictures")
    for k, (siphon, data) in enumerate(zip(plan.siphons, report.windows, strict=True)):
        of = f" of {siphon.name}" if several else ""
        if k:  # the first is on the first screen
            yield _figure(f"Section{of}", section(plan, run, siphon=siphon.name), f"section{k}")
        yield _figure(f"Levels against time{of}", levels(run, siphon.name), f"levels{k}")
        yield _figure(f"Inflow window{of}", window(data, system), f"window{k}")
        flow = siphon_flow(plan, siphon, plan.lip_level(siphon), run.sump_low)
        if flow > 0.0:
            lost = siphon_losses(plan, siphon, flow)
            title = f"{siphon.name} with the water at its lip"
            yield _figure(f"Where the head goes{of}", head_budget(title, lost, flow, system), f"head{k}")
        last = [r for r in plan.runs if r.to == siphon.host]
        if flow > 0.0 and len(last) == 1:
            lost = run_losses(plan, last[0], flow)
            title = f"the drain line from {last[0].start} to {last[0].to} at the siphon's flow"
            yield _figure(
                f"Where the head goes in the last drain line{of}",
                head_budget(title, lost, flow, system),
                f"run{k}",
            )
    yield END


def _water(report: Report) -> str:
    """Draw the section of the first siphon with its water, for the first screen."""
    from aquacalc.figures.section import section

    picture = section(report.plan, report.run)
    words = f'<figcaption class="unseen">{escape(picture.alt)}</figcaption>'
    return f"<figure>{picture.svg('section0')}{words}</figure>"


def _fold(anchor: str, title: str, unfolded: bool = False) -> Iterator[str]:
    """Begin a section that folds away under its heading; `END` ends it."""
    yield (
        f'<section aria-labelledby="{anchor}"><details class="fold"{" open" if unfolded else ""}><summary>'
        f'<h2 id="{anchor}">{escape(title)}</h2></summary>'
    )


def _figure(title: str, picture, prefix: str) -> str:
    return (
        f'<figure><h3>{escape(title)}</h3><div class="scroll" tabindex="0" role="group" '
        f'aria-label="{escape(title)}">{picture.svg(prefix, styled=False)}</div>'
        f"<figcaption>{escape(typeset(picture.alt))}</figcaption></figure>"
    )


def _section(anchor: str, section: Section, title: str, system: str, workings: Workings) -> Iterator[str]:
    yield from _fold(anchor, title)
    if section.intro:
        yield f"<p>{escape(section.intro)}</p>"
    if section.rows:
        rows = "".join(_row(row, system, workings) for row in section.rows)
        yield f'<table class="rows">{_caption(title, title)}<tbody>{rows}</tbody></table>'
    for k, table in enumerate(section.tables):
        yield from _table(f"{anchor}t{k}", table, section.title, system, workings)
    yield END


def _caption(caption: str, heading: str) -> str:
    """Write a table's caption; it is only for screen readers where the heading above says the same."""
    words = escape(caption)
    return (
        f'<caption><span class="unseen">{words}</span></caption>'
        if caption == heading
        else f"<caption>{words}</caption>"
    )


def _row(row: Row, system: str, workings: Workings) -> str:
    note = f'<span class="note">{escape(typeset(row.note))}</span>' if row.note else ""
    opened = ""
    if row.worked is not None:
        block = workings.block(row.worked)
        opened = f"<details><summary>worked calculation</summary>{block}</details>"
    return (
        f'<tr><th scope="row">{escape(row.label)}</th><td>'
        f'<span class="value">{escape(typeset(row.shown(system)))}</span>'
        f"{note}{opened}</td></tr>"
    )


def _table(anchor: str, table: Table, title: str, system: str, workings: Workings) -> Iterator[str]:
    """Write a table, and under it the calculations that its numbers lead to."""
    heads = "".join(f'<th scope="col">{escape(c.heading)}</th>' for c in table.columns)
    body: list[str] = []
    blocks: list[str] = []
    for line in table.lines:
        cells = []
        for column, cell in zip(table.columns, line.cells, strict=True):
            words = escape(typeset(shown(cell.value, column.kind, system)))
            if cell.worked is not None:
                target = f"{anchor}w{len(blocks)}"
                blocks.append(workings.block(cell.worked, target, f"{line.name}: {column.heading.lower()}"))
                words = f'<a href="#{target}">{words}</a>'
            cells.append(f'<td class="words">{words}</td>' if column.kind == TEXT else f"<td>{words}</td>")
        body.append(f'<tr><th scope="row">{escape(line.name)}</th>{"".join(cells)}</tr>')
    yield (
        f'<div class="scroll" tabindex="0" role="group" aria-label="{escape(table.title)}">'
        f'<table class="wide">{_caption(table.title, title)}<thead><tr>'
        f'<th scope="col">{escape(table.about)}</th>{heads}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )
    if table.note:
        yield f'<p class="soft">{escape(typeset(table.note))}</p>'
    if blocks:
        count = f"{len(blocks)} worked calculation{'s' if len(blocks) > 1 else ''} of this table"
        yield f"<details><summary>{count}</summary>{''.join(blocks)}</details>"


def _assumptions(workings: Workings) -> Iterator[str]:
    said = dict.fromkeys(text for equation in workings.used.values() for text in equation.assumptions)
    yield from _fold("assumptions", "Assumptions")
    yield "<p>The equations above hold where these do:</p>"
    yield f"<ul>{''.join(f'<li>{escape(text)}</li>' for text in said)}</ul>{END}"


def _cautions() -> Iterator[str]:
    yield from _fold("cautions", "Cautions", unfolded=True)
    yield f"<ul>{''.join(f'<li>{escape(text)}</li>' for text in CAUTIONS)}</ul>{END}"


def _sources(workings: Workings) -> Iterator[str]:
    yield from _fold("sources", "Sources")
    yield '<ul class="sources">'
    for equation in workings.used.values():
        yield f"<li>{escape(equation.title)}: {escape(source_text(equation))}.</li>"
    yield (
        "</ul><p>What each was held against, and where sources disagree: "
        "<code>python -m aquacalc evidence --out evidence.html</code></p>" + END + "</main>"
    )
