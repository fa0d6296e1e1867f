"""The report as plain text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from aquacalc.design.advice import Advice, mends
from aquacalc.findings import Finding
from aquacalc.findings.record import alike, also
from aquacalc.report.records import TEXT, Report, Row, Section, Table, shown
from aquacalc.report.summary import CLOSEST, bars, change, facts, leaning, tried

#: Columns of a line.
WIDTH = 100
#: Faults named in the sentence of the verdict.
FAULTS = 3
#: Characters of a bar.
BAR = 12
#: What is written before the change of a finding.
CHANGES = {"does not": "What may help", "may or may not": "To settle it", "watch": "What may help"}
_HEADINGS = {
    "does not": "What does not work",
    "may or may not": "What may or may not work",
    "watch": "What to watch",
    "good": "What is fine",
}


def verdict(report: Report) -> str:
    """Say in one sentence whether the plan works."""
    watch = len(alike(f for f in report.findings if f.state == "watch"))
    if report.verdict != "works":
        where: dict[str, list[str]] = {}
        for f in report.findings:
            if f.state == report.verdict:
                where.setdefault(f"{f.title[0].lower()}{f.title[1:]}", []).append(f.subject)
        said = [f"{title} ({', '.join(dict.fromkeys(names))})" for title, names in where.items()]
        if len(said) > FAULTS:
            said = [*said[: FAULTS - 1], f"and {len(said) - FAULTS + 1} more faults"]
        return f"This plan {report.verdict} work: {'; '.join(said)}."
    if watch:
        return f"This plan works, with {watch} {'thing' if watch == 1 else 'things'} to watch."
    return "This plan works."


def text(report: Report) -> str:
    """Write the report as text.

    Parameters
    ----------
    report : Report

    Returns
    -------
    str
        Lines of at most `WIDTH` characters, unless a name is longer.
    """
    plan = report.plan
    lines = [plan.name, "=" * len(plan.name), *_first(report), *_wrapped(plan.note), ""]
    for group in ("does not", "may or may not", "watch"):
        groups = alike(f for f in report.findings if f.state == group)
        if groups:
            lines += _title(_HEADINGS[group])
        for found in groups:
            lines += _finding(found, plan.units, report.advice)
    good = [f for f in report.findings if f.state == "good"]
    if good:
        lines += [*_title(_HEADINGS["good"]), *_good(good, plan.units), ""]
    for section in report.sections:
        lines += _section(section, plan.units, len(plan.siphons) > 1)
    lines += _wrapped(
        "Every number above that comes from one equation opens into its worked calculation on the page that "
        "--html writes."
    )
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _first(report: Report) -> list[str]:
    """Write what a grower looks for first."""
    lines = [*_wrapped(verdict(report)), ""]
    said = facts(report)
    if (best := change(report)) is not None:
        said.append(best)
    said += [
        (CLOSEST[report.verdict] if k == 0 else "", words)
        for k, words in enumerate(leaning(report.turns, report.verdict))
    ]
    left = max(len(label) for label, _ in said) + 2
    for label, words in said:
        lines += _wrapped(words, f"{label:<{left}}", " " * left)
    tight = bars(report)
    if tight:
        lines += ["", "Margins, tightest first (a full bar is at its limit)"]
    wide = max((len(bar.title) for bar in tight), default=0)
    for bar in tight:
        full = min(round(BAR * min(bar.used, 1.0)), BAR)
        drawn = "#" * full + "." * (BAR - full) + ("!" if bar.used > 1.0 else " ")
        lines += _wrapped(bar.words, f"  {bar.title:<{wide}}  {drawn} ", " " * (wide + BAR + 6))
    return [*lines, ""]


def _title(title: str) -> list[str]:
    return [title, "-" * len(title)]


def _wrapped(text: str, indent: str = "", hang: str | None = None) -> list[str]:
    hang = indent if hang is None else hang
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=hang,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _finding(found: list[Finding], system: str, advice: tuple[Advice, ...]) -> list[str]:
    """Write the worst of several findings of one title in full, the others by their values."""
    worst, *others = found
    lines = _wrapped(f"{worst.title}: {worst.subject}")
    values = worst.shown(system)
    if values:
        lines += _wrapped(f"{values[0].upper()}{values[1:]}.", "    ")
    lines += _wrapped(worst.cause, "    ")
    said = [(CHANGES[worst.state], worst.change)]
    said += [("A change", tried(a)) for a in advice if mends(a, worst)][:1]
    for label, words in said:
        lines += _wrapped(f"{label}: {words}", "    ", " " * (len(label) + 6))
    if others:
        lines += _wrapped(f"The same for: {also(others, system)}.", "    ", "            ")
    return [*lines, ""]


def _good(findings: Iterable[Finding], system: str) -> list[str]:
    """One line for each title, with the values of the tightest."""
    lines = []
    for found in alike(findings):
        least = found[0]
        values = least.shown(system)
        where = f"{least.subject}: " if len(found) > 1 else ""
        who = ", ".join(f.subject for f in found)
        lines += _wrapped(f"{least.title}: {who}" + (f" ({where}{values})" if values else ""), "", "    ")
    return lines


def _section(section: Section, system: str, several: bool) -> list[str]:
    title = f"{section.title}: {section.subject}" if section.subject and several else section.title
    lines = [*_title(title), *_wrapped(section.intro), *([""] if section.intro and section.rows else [])]
    lines += _rows(section.rows, system)
    for k, table in enumerate(section.tables):
        above = [""] if k or section.intro or section.rows else []
        lines += [*above, *_table(table, system, bare=table.title == section.title)]
    return [*lines, ""]


def _rows(rows: tuple[Row, ...], system: str) -> list[str]:
    values = [row.shown(system) for row in rows]
    left = max((len(row.label) for row in rows), default=0) + 2
    middle = max((len(v) for v in values if len(v) <= 40), default=0) + 2
    lines = []
    for row, value in zip(rows, values, strict=True):
        start = f"{row.label:<{left}}{value:<{middle}}"
        lines += _wrapped(row.note, start, " " * (left + middle)) if row.note else [start]
    return lines


def _table(table: Table, system: str, bare: bool) -> list[str]:
    """Columns where they fit, else a block for each line; `bare` leaves out the title."""
    head = [table.about, *(c.heading for c in table.columns)]
    body = [
        [
            line.name,
            *(shown(cell.value, c.kind, system) for cell, c in zip(line.cells, table.columns, strict=True)),
        ]
        for line in table.lines
    ]
    widths = [max(len(row[k]) for row in (head, *body)) for k in range(len(head))]
    lines = [] if bare else [table.title]
    if sum(widths) + 2 * (len(widths) - 1) <= WIDTH:
        right = [False, *(c.kind != TEXT for c in table.columns)]
        for row in (head, *body):
            cells = (v.rjust(w) if r else v.ljust(w) for v, w, r in zip(row, widths, right, strict=True))
            lines.append("  ".join(cells))
    else:
        for row in body:
            pairs = (f"{h.lower()} {v}" for h, v in zip(head[1:], row[1:], strict=True) if v != "-")
            lines += _wrapped(f"{row[0]}: {', '.join(pairs)}", "", "    ")
    return [*lines, *_wrapped(table.note)]
