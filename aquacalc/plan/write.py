"""A plan back to TOML: the text it was read from, with only the changed values rewritten."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from pathlib import Path

from aquacalc import units
from aquacalc.plan.model import Fitting, Plan
from aquacalc.plan.read import plan_from_text
from aquacalc.plan.records import derived, flatten, list_field
from aquacalc.plan.schema import REQUIRED, TABLES, Key, Table

_NUMBER = re.compile(r"[\s\d./+-]*(?:[eE][+-]?\d+)?\s*")


def write_plan(plan: Plan) -> str:
    """Return the plan as TOML.

    Parameters
    ----------
    plan : Plan
        With `text` it keeps that text's order, comments, spelling and line
        ends, and rewrites only the keys whose value changed; without, the
        text is new.

    Returns
    -------
    str
        `plan_from_text` turns it back into exactly this plan.
    """
    tables = _dump(plan)
    if not plan.text:
        return _new_text(plan, tables)
    before = _dump(plan_from_text(plan.text, plan.name))
    if before == tables:
        return plan.text
    import tomlkit

    mark = "\ufeff" if plan.text.startswith("\ufeff") else ""
    document = tomlkit.parse(plan.text.removeprefix(mark))
    for path in (p for p in TABLES if "." not in p):
        _patch(document, TABLES[path], path, before.get(path), tables.get(path), plan.units)
    text = tomlkit.dumps(document)
    if "\r\n" in plan.text:
        text = text.replace("\r\n", "\n").replace("\n", "\r\n")
    return mark + text


def save_plan(plan: Plan, path, force: bool = False) -> None:
    """Write the plan to a file, whole or not at all.

    Parameters
    ----------
    plan : Plan
    path : str or Path
    force : bool
        Whether to replace a file that is there.

    Raises
    ------
    FileExistsError
        When the file is there and `force` is not set.
    OSError
        When it cannot be written.
    """
    path = Path(path)
    data = write_plan(plan).encode("utf-8")
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        if not force:
            try:
                path.open("xb").close()
            except FileExistsError:
                raise FileExistsError(f"{path} is there already; give another name, or force it") from None
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)


def _dump(plan: Plan) -> dict:
    """Return the plan as the file has it: tables of {key: SI value}, without what is left out by default."""
    tees = {tee.name: tee.elevation for tee in plan.tees}
    found = {}
    for path, table in TABLES.items():
        if "." in path:
            continue
        if path == "plan":
            found[path] = _dump_record("plan", plan, tees)
        elif table.many:
            found[path] = [_dump_record(path, record, tees) for record in getattr(plan, list_field(path))]
        else:
            found[path] = _dump_record(path, getattr(plan, path), tees)
    return {path: tables for path, tables in found.items() if tables or TABLES[path].required}


def _dump_record(path: str, record, tees: dict[str, float]) -> dict:
    table = TABLES[path]
    flat = flatten(path, record)
    given = {}
    basis = {k.name: flat[k.name] for k in table.keys if k.name in flat and not k.derived}
    if "bore" in flat:
        basis["bore"] = flat["bore"]
    defaults = derived(path, basis, tees)
    for key in table.keys:
        if key.name not in flat:
            continue
        value = _as_written(flat[key.name]) if key.kind == "fittings" else flat[key.name]
        default = defaults.get(key.name) if key.derived else key.default_value()
        if (key.derived or key.default is not REQUIRED) and value == default:
            continue
        if value is not None:
            given[key.name] = value
    for name in table.inner:
        part = getattr(record, name)
        if part is not None:
            inner = _dump_record(f"{path}.{name}", part, tees)
            if inner or TABLES[f"{path}.{name}"].required:
                given[name] = inner
    return given


def _as_written(fittings: tuple[Fitting, ...]) -> tuple[Fitting, ...]:
    """Drop the coefficients that follow from the table, so that only what the file states is compared."""
    return tuple(f if f.given else replace(f, k=0.0) for f in fittings)


def _patch(toml, table: Table, name: str, before, after, system: str) -> None:
    """Change `toml[name]` from `before` to `after`."""
    import tomlkit

    if before == after:
        return
    if after is None:
        del toml[name]
    elif table.many:
        _patch_list(toml, table, name, before or [], after, system)
    elif before is None or name not in toml:
        new = _toml_table(table, after, system)
        new.add(tomlkit.nl())
        toml[name] = new
    else:
        _patch_table(toml[name], table, before, after, system)


def _patch_list(toml, table: Table, name: str, before: list, after: list, system: str) -> None:
    """Change a list of tables, each known by its name."""
    import tomlkit

    key = table.named_by
    names = [record[key] for record in before]
    if names == [record[key] for record in after]:
        for one, old, new in zip(toml[name], before, after, strict=True):
            _patch_table(one, table, old, new, system)
        return
    kept = dict(zip(names, zip(toml.get(name, []), before, strict=True), strict=True))
    array = tomlkit.aot()
    for record in after:
        if record[key] in kept:
            one, old = kept[record[key]]
            _patch_table(one, table, old, record, system)
        else:
            one = _toml_table(table, record, system)
        array.append(one)
    toml[name] = array


def _patch_table(toml, table: Table, before: dict, after: dict, system: str) -> None:
    for name in (*(k.name for k in table.keys), *table.inner):
        old, new = before.get(name), after.get(name)
        if old == new:
            continue
        key = table.key(name)
        if key is None:
            _patch(toml, TABLES[f"{table.path}.{name}"], name, old, new, system)
        elif new is None:
            del toml[name]
        else:
            toml[name] = _toml_value(key, new, system, toml.get(name))


def _toml_table(table: Table, record: dict, system: str):
    import tomlkit

    toml = tomlkit.table()
    for name, value in record.items():
        key = table.key(name)
        if key is None:
            toml[name] = _toml_table(TABLES[f"{table.path}.{name}"], value, system)
        else:
            toml[name] = _toml_value(key, value, system, None)
    return toml


def _toml_value(key: Key, value, system: str, given):
    """Write an SI value as TOML has it, in the unit of the text `given` before it."""
    if key.kind == "fittings":
        return _toml_fittings(value, system)
    if key.kind == "curve":
        return [[_quantity(q, "flow", system), _quantity(h, "distance", system)] for q, h in value]
    if key.kind in ("lengths", "areas"):
        return [_quantity(v, key.kind[:-1], system) for v in value]
    if not key.numeric:
        return value
    return _quantity(value, key.kind, system, given)


def _quantity(value: float, kind: str, system: str, given=None):
    """Write a quantity: a plain number where the kind has no unit, else text with one."""
    unit = units.KINDS[kind].metric if system == "metric" else units.KINDS[kind].us
    if isinstance(given, str):
        unit = given[_NUMBER.match(given).end() :].strip()
    if not unit:
        return value
    return units.text_of(value, unit)


def _toml_fittings(fittings: tuple[Fitting, ...], system: str):
    import tomlkit

    array = tomlkit.array()
    for fitting in fittings:
        if fitting.given or fitting.spacing:
            item = tomlkit.inline_table()
            item["fitting"] = fitting.name
            if fitting.count > 1:
                item["count"] = fitting.count
            if fitting.given:
                item["k"] = fitting.k
            else:
                item["spacing"] = _quantity(fitting.spacing, "length", system)
            array.append(item)
        else:
            array.append(f"{fitting.count} x {fitting.name}" if fitting.count > 1 else fitting.name)
    return array


def _new_text(plan: Plan, tables: dict) -> str:
    import tomlkit

    document = tomlkit.document()
    for path, found in tables.items():
        if TABLES[path].many:
            array = tomlkit.aot()
            for record in found:
                array.append(_toml_table(TABLES[path], record, plan.units))
            document[path] = array
        else:
            document[path] = _toml_table(TABLES[path], found, plan.units)
    return tomlkit.dumps(document)
