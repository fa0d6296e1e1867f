"""What a command found, as text, JSON or one page."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from dataclasses import dataclass, field
from html import escape
from pathlib import Path

#: Columns of a line of text.
WIDTH = 100


@dataclass(frozen=True)
class Table:
    """Rows of words under a title; the first cell of a row says what it is about."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    none: str = "no difference"
    note: str = ""


@dataclass(frozen=True)
class Told:
    """An answer: its title, what is said line by line ("- " for a point of a list), tables, and data.

    `data` is what JSON has; `picture` is SVG for the page, `alt` the same in words; `drawing` are lines set
    as they are.
    """

    title: str
    lines: tuple[str, ...]
    tables: tuple[Table, ...] = ()
    data: dict = field(default_factory=dict)
    picture: str = ""
    alt: str = ""
    drawing: tuple[str, ...] = ()

    def text(self) -> str:
        """Write it for a terminal."""
        lines = [self.title, "-" * min(len(self.title), WIDTH)] if self.title else []
        for line in self.lines:
            lines += textwrap.wrap(line, WIDTH, subsequent_indent="  " if line.startswith("- ") else "")
        lines += self.drawing
        for table in self.tables:
            lines += ["", table.title, "-" * len(table.title), *_columns(table), *filter(None, [table.note])]
        return "\n".join(lines)

    def page(self) -> str:
        """Write it as a page that opens offline."""
        from aquacalc.pages.skeleton import skeleton

        parts, points = [f"<h1>{escape(self.title)}</h1>"], False
        for line in self.lines:
            if line.startswith("- ") != points:
                parts.append("</ul>" if points else "<ul>")
                points = not points
            parts.append(f"<li>{escape(line[2:])}</li>" if points else f"<p>{escape(line)}</p>")
        parts.append("</ul>" if points else "")
        if self.picture:
            said = f'role="group" aria-label="{escape(self.title)}"'
            figure = f'<div class="scroll" tabindex="0" {said}>{self.picture}</div>'
            parts.append(f"<figure>{figure}<figcaption>{escape(self.alt)}</figcaption></figure>")
        for table in self.tables:
            parts.append(f"<section><h2>{escape(table.title)}</h2>")
            parts.append(_markup(table) if table.rows else f"<p>{escape(table.none)}</p>")
            parts.append(f'<p class="note">{escape(table.note)}</p>' if table.note else "")
            parts.append("</section>")
        return skeleton(self.title, f"<main>\n{chr(10).join(filter(None, parts))}\n</main>", kind="report")


def _columns(table: Table) -> list[str]:
    """Set a table in columns."""
    if not table.rows:
        return [table.none]
    rows = [table.head, *table.rows] if any(table.head) else list(table.rows)
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]) - 1)]
    last = max(WIDTH - sum(widths) - 2 * len(widths), 30)
    lines = []
    for row in rows:
        left = "".join(f"{cell:<{wide}}  " for cell, wide in zip(row[:-1], widths, strict=True))
        wrapped = textwrap.wrap(row[-1], last) or [""]
        lines += [(left + wrapped[0]).rstrip(), *(" " * len(left) + more for more in wrapped[1:])]
    return lines


def _markup(table: Table) -> str:
    head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in table.head)
    rows = []
    for first, *cells in table.rows:
        name = escape(first).replace(".", ".<wbr>")  # a path may break after its points
        rows.append(f'<tr><th scope="row">{name}</th>{"".join(f"<td>{escape(c)}</td>" for c in cells)}</tr>')
    body = "\n".join(rows)
    return f'<div class="scroll"><table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>'


def form_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare how an answer is told."""
    parser.add_argument("--json", action="store_true", help="print JSON for programs")
    parser.add_argument("--html", metavar="FILE", type=Path, help="write it as a page that opens offline")


def tell(told: Told, args: argparse.Namespace, source: Path) -> None:
    """Print or write an answer as was asked."""
    from aquacalc.files import write_file

    if args.html:
        write_file(args.html, told.page(), source=source, force=getattr(args, "force", False), ours=True)
        print(f"Page written: {args.html.resolve()}", file=sys.stderr if args.json else sys.stdout)
    if args.json:
        print(json.dumps(told.data, indent=2, ensure_ascii=False))
    elif not args.html:
        print(told.text())
