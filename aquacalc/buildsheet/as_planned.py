"""Every size and level of the plan that is not a usual value: the sheet alone is enough to build by."""

from __future__ import annotations

from aquacalc.buildsheet.table import Table
from aquacalc.plan.key import Key
from aquacalc.plan.marks import values_of
from aquacalc.plan.model import Fitting, Leg, Plan
from aquacalc.units import in_unit, show

#: Digits that are shown: a mm in ten metres.
DIGITS = 5
#: Tables whose `length` the cut list has piece by piece, and keys that say nothing new here.
WAYS = ("run", "siphon.tail", "pump.delivery")
NOT_HERE = ("name", "from", "note")


def as_planned_table(plan: Plan) -> Table:
    """Return the table: what the plan says of each part, in its units; equal parts share a line."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for path, key, value, mark in values_of(plan):
        table, name = _part(path)
        elsewhere = table == "bed.strainer" or (key.name == "length" and table in WAYS)
        usual = mark.mark in ("assumed", "derived") and key.kind != "fittings"
        if not (usual or elsewhere or key.name in NOT_HERE):
            shown = f"{key.name.replace('_', ' ')}: {_shown(key, value, plan.units)}"
            alike.setdefault((table, key.name, shown), []).append(name)
    parts: dict[tuple[str, str], list[str]] = {}
    for (table, _, shown), names in alike.items():
        parts.setdefault((table, ", ".join(names)), []).append(shown)
    order = list(dict.fromkeys(table for table, _ in parts))
    rows = [(*part, " | ".join(said)) for part, said in parts.items()]
    rows.sort(key=lambda row: order.index(row[0]))
    return Table(
        "as-planned",
        "As planned",
        f"Elevations are above {plan.datum}. What is not here is as usual; lengths of pipes are in the cut "
        "list, openings in their own table.",
        ("part of", "which", "as planned"),
        tuple(rows),
    )


def _part(path: str) -> tuple[str, str]:
    """Take a path apart: "bed.bed 1.strainer.count" is of "bed.strainer", and of the one called "bed 1"."""
    parts = path.split(".")
    if parts[0] in ("plan", "sump", "pump", "limits"):
        return ".".join(parts[:-1]), ""
    return ".".join((parts[0], *parts[2:-1])), parts[1]


def _shown(key: Key, value, system: str) -> str:
    if key.kind == "time":
        return show(value, "time", system)
    if key.numeric:
        return _quantity(value, key.kind, system)
    if key.kind == "fittings":
        return "; ".join(_fitting(f, system) for f in value)
    if key.kind == "legs":
        return "; ".join(_leg(leg, system) for leg in value)
    if key.kind == "curve":
        points = ((_quantity(q, "flow", system), _quantity(h, "distance", system)) for q, h in value)
        return "; ".join(" at ".join(point) for point in points)
    if key.kind in ("lengths", "areas"):
        return "; ".join(_quantity(one, key.kind[:-1], system) for one in value)
    return str(value)


def _quantity(value: float, kind: str, system: str) -> str:
    number, unit = in_unit(value, kind, system)
    return f"{float(f'{number:.{DIGITS}g}'):.10g} {unit}".strip()


def _leg(leg: Leg, system: str) -> str:
    said = f"{leg.way}{' at 45' if leg.half else ''} {_quantity(leg.length, 'length', system)}"
    if leg.fall:
        way = "falling" if leg.fall > 0.0 else "rising"
        said += f" {way} {_quantity(abs(leg.fall), 'length', system)}"
    return said


def _fitting(fitting: Fitting, system: str) -> str:
    number, unit = in_unit(fitting.spacing, "length", system)
    apart = f" {number:.5g} {unit} apart" if fitting.spacing else ""
    own = f" of k {fitting.k:.{DIGITS}g}" if fitting.given else ""
    count = f"{fitting.count} x " if fitting.count > 1 else ""
    return f"{count}{fitting.name}{apart}{own}"
