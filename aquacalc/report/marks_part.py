"""The part of the report that says which values nobody measured, and which somebody did."""

from __future__ import annotations

from aquacalc import units
from aquacalc.plan.differences import shown
from aquacalc.plan.marks import shown_mark, values_of
from aquacalc.plan.model import Plan
from aquacalc.plan.schema import TABLES
from aquacalc.report.records import TEXT, Row, Section
from aquacalc.report.wording import section

#: Tables and keys that change no result, or only what is asked of the plan.
_ASIDE = (
    *("plan", "limits", "name", "seal", "supports", "inflow_share", "observed_error", "intake", "lies"),
    *("outlet", "series", "openings", "grain_smallest", "grain_largest", "fixing"),
)


def marks_section(plan: Plan) -> Section | None:
    """Build the list of assumed and measured values; None when the plan gives every value."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for path, key, value, mark in values_of(plan):
        table, *names = path.split(".")
        if mark.mark not in ("assumed", "measured") or not value or table in _ASIDE or key.name in _ASIDE:
            continue
        words = path
        if TABLES[table].many:
            words = ".".join((table, "*", *names[1:]))
        text, note = shown(key, value, plan.units), shown_mark(mark)
        if key.numeric:
            text = units.show(value, key.kind, plan.units)
        elif key.kind == "fittings":
            text, note = f"{sum(f.count for f in value)} fittings", f"{text}; {note}"
        found.setdefault((words, text, note), []).append(names[0])
    if not found:
        return None
    rows = []
    for (words, said, rests_on), names in found.items():
        table, *rest = (part for part in words.split(".") if part != "*")
        some = ", ".join(names[:3]) + (" and others" if len(names) > 3 else "")
        label = " ".join(rest if "*" in words else (table, *rest)).replace("_", " ")
        label = f"{some}: {label}" if "*" in words else label
        rows.append(Row(f"{words} of {names[0]}" if "*" in words else words, label, said, TEXT, rests_on))
    return section("marks", rows=rows)
