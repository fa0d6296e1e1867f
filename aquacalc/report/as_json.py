"""The report for programs: JSON in a documented shape.

`data/report.schema.json` says what is in it; `shape_document` turns that into
`data/report-shape.md`. Every number is in the SI unit named beside it.
"""

from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path

from aquacalc.design.advice import Advice
from aquacalc.design.keeping import marks
from aquacalc.findings import Finding
from aquacalc.report.records import TEXT, Report, Row, Section, Table, Window, Working
from aquacalc.units import KINDS

#: Version of the shape: the first number changes when a program that reads it has to change.
SHAPE = "2.0"
SCHEMA_FILE = "report.schema.json"


def unit(kind: str) -> str:
    """Return the SI unit of a kind; "" for words and plain numbers."""
    return "" if kind == TEXT else KINDS[kind].si


def as_json(report: Report) -> str:
    """Write the report as JSON.

    Parameters
    ----------
    report : Report

    Returns
    -------
    str
        Valid against `data/report.schema.json`.
    """
    return json.dumps(as_dict(report), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def as_dict(report: Report) -> dict:
    """Return the report as plain dicts, lists, texts and floats."""
    plan = report.plan
    return {
        "shape": SHAPE,
        "plan": {
            "name": plan.name,
            "note": plan.note,
            "datum": plan.datum,
            "units": plan.units,
        },
        "verdict": report.verdict,
        "advice": [_advice(a) for a in report.advice],
        "turns": [{"says": t.says, "to": t.to, "plausible": t.plausible} for t in report.turns],
        "fill": [{"state": m.state, "low": m.low, "high": m.high} for m in marks(plan, report.run)],
        "findings": [_finding(f, plan.units) for f in report.findings],
        "windows": [_window(w) for w in report.windows],
        "sections": [_section(s) for s in report.sections],
    }


def _finding(finding: Finding, system: str) -> dict:
    return {
        "key": finding.key,
        "title": finding.title,
        "state": finding.state,
        "subject": finding.subject,
        "value": finding.value,
        "limit": finding.limit,
        "direction": finding.direction,
        "margin": finding.margin,
        "band": list(finding.band) if finding.band else None,
        "unit": unit(finding.kind),
        "counts": finding.counts,
        "shown": finding.shown(system),
        "cause": finding.cause,
        "change": finding.change,
    }


def _advice(advice: Advice) -> dict:
    return {
        "words": advice.words,
        "mends": [{"key": key, "subject": subject} for key, subject in advice.mends],
        "verdict": advice.verdict,
        "gives": advice.gives,
    }


def _window(window: Window) -> dict:
    return {f.name: getattr(window, f.name) for f in fields(window)}


def _section(section: Section) -> dict:
    return {
        "key": section.key,
        "subject": section.subject,
        "title": section.title,
        "intro": section.intro,
        "rows": {row.key: _row(row) for row in section.rows},
        "tables": {table.key: _table(table) for table in section.tables},
    }


def _row(row: Row) -> dict:
    return {
        "label": row.label,
        "value": row.value,
        "unit": unit(row.kind),
        "low": row.low,
        "high": row.high,
        "note": row.note,
        "worked": _worked(row.worked),
    }


def _table(table: Table) -> dict:
    keys = [column.key for column in table.columns]
    return {
        "title": table.title,
        "about": table.about,
        "note": table.note,
        "columns": {c.key: {"heading": c.heading, "unit": unit(c.kind)} for c in table.columns},
        "lines": {
            line.name: {
                key: {"value": cell.value, "worked": _worked(cell.worked)}
                for key, cell in zip(keys, line.cells, strict=True)
            }
            for line in table.lines
        },
    }


def _worked(working: Working | None) -> dict | None:
    if working is None:
        return None
    from aquacalc.equations import RECORDS

    equation = RECORDS[working.equation]
    return {
        "equation": working.equation,
        "symbol": working.solve_for or equation.output.key,
        "relation": equation.relation,
        "values": {
            key: {"value": value, "unit": unit(equation.symbol(key).kind)}
            for key, value in working.values.items()
        },
    }


def schema() -> dict:
    """Read the JSON Schema of the report."""
    from aquacalc.catalogue import data_dir

    return json.loads(Path(data_dir(), SCHEMA_FILE).read_text(encoding="utf-8"))


def shape_document() -> str:
    """Write the schema as a page for people: each table of names, what they hold and what they mean."""
    top = schema()
    lines = [f"# {top['title']}", "", *_paragraph(top["description"])]
    lines += ["", "## The report", "", *_names(top)]
    for name, part in top["$defs"].items():
        lines += [
            "",
            f"## {name[0].upper()}{name[1:]}",
            "",
            *_paragraph(part["description"]),
            "",
            *_names(part),
        ]
    return "\n".join(lines) + "\n"


def _paragraph(text: str) -> list[str]:
    import textwrap

    return textwrap.wrap(text, 80)


def _names(part: dict) -> list[str]:
    lines = ["| name | holds | meaning |", "|---|---|---|"]
    for name, value in part["properties"].items():
        lines.append(f"| `{name}` | {_holds(value)} | {value.get('description', '')} |")
    return lines


def _holds(value: dict) -> str:
    """Say in words what a value of the schema is."""
    if "$ref" in value:
        return value["$ref"].rpartition("/")[2]
    if "anyOf" in value:
        return " or ".join(_holds(v) for v in value["anyOf"])
    if "enum" in value:
        return " or ".join(f'"{v}"' for v in value["enum"])
    if "const" in value:
        return f'"{value["const"]}"'
    kind = value["type"]
    if kind == "array":
        return f"list of {_holds(value['items'])}"
    if kind == "object":
        return f"by name: {_holds(value['additionalProperties'])}"
    words = {"string": "text", "number": "number", "boolean": "true or false", "null": "null"}
    return " or ".join(words[k] for k in (kind if isinstance(kind, list) else [kind]))
