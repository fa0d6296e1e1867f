"""What differs between two plans, value by value, as a reader sees it."""

from __future__ import annotations

from typing import Any

from aquacalc import units
from aquacalc.plan.key import Key
from aquacalc.plan.marks import values_of
from aquacalc.plan.model import Plan
from aquacalc.plan.schema import TABLES


def shown(key: Key, value: Any, system: str) -> str:
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

    What comes with the size of a pipe is left out where the size says it, and what is the same of every
    record of a kind is told once, with "*" for its name.

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
    found = {p: (one.get(p, ""), other.get(p, "")) for p in paths if one.get(p, "") != other.get(p, "")}
    beside = [p.rpartition(".")[0] for p in found if p.endswith(".size")]
    found = {
        p: pair
        for p, pair in found.items()
        if not (p.endswith((".bore", ".outside_diameter", ".roughness")) and p.rpartition(".")[0] in beside)
    }
    return _told_once(found, paths)


def _told_once(found: dict[str, tuple[str, str]], paths: list[str]) -> dict[str, tuple[str, str]]:
    """Put what is the same of every bed, run or siphon together."""
    alike: dict[tuple, list[str]] = {}
    for path, pair in found.items():
        alike.setdefault((*_split(path)[::2], pair), []).append(path)
    told: dict[str, tuple[str, str]] = {}
    for path, pair in found.items():
        table, name, rest = _split(path)
        here = len(alike[table, rest, pair])
        every = name and here > 1 and here == sum(_split(p)[::2] == (table, rest) for p in paths)
        told[f"{table}.*.{rest}" if every else path] = pair
    return told


def _split(path: str) -> tuple[str, str, str]:
    """Split a path into table, name of the record ("" where there is only one), and the rest."""
    table, _, rest = path.partition(".")
    if not TABLES[table].many:
        return table, "", rest
    name, _, rest = rest.partition(".")
    return table, name, rest
