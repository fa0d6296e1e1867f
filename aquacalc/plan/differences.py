"""What differs between two plans, value by value, as a reader sees it."""

from __future__ import annotations

from aquacalc import units
from aquacalc.plan.marks import values_of
from aquacalc.plan.model import Plan
from aquacalc.plan.schema import Key


def shown(key: Key, value: object, system: str) -> str:
    """Write a value of a plan in the units of `system`: "430 mm", "cone", "entrance, square + exit"."""
    if value is None:
        return ""
    if key.numeric:
        return units.show(value, key.kind, system, digits=4)
    if key.kind == "fittings":
        return " + ".join(f"{f.count} x {f.name}" if f.count > 1 else f.name for f in value)
    if isinstance(value, tuple):
        return f"{len(value)} values"
    return str(value)


def differences(before: Plan, after: Plan) -> dict[str, tuple[str, str]]:
    """Return {path: (value before, value after)} of what differs, in the units of the first plan.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan import read_plan
    >>> from aquacalc.plan.edit import put
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> differences(plan, put(plan, {"pump.flow": 2.0e-4}))
    {'pump.flow': ('18.00 L/min', '12.00 L/min')}
    """
    system = before.units
    sides = []
    for plan in (before, after):
        sides.append({path: shown(key, value, system) for path, key, value, _ in values_of(plan)})
    one, other = sides
    paths = [*one, *(path for path in other if path not in one)]
    return {p: (one.get(p, ""), other.get(p, "")) for p in paths if one.get(p, "") != other.get(p, "")}
