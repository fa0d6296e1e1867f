"""A plan back to TOML: the text it was read from, with only the changed values rewritten."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from aquacalc import units
from aquacalc.files import write_file
from aquacalc.plan.key import Key, Table
from aquacalc.plan.legs import write_leg
from aquacalc.plan.marks import GIVEN, unsaid_values
from aquacalc.plan.model import Fitting, Mark, Plan
from aquacalc.plan.read import plan_from_text
from aquacalc.plan.records import Around, around, flatten, list_field
from aquacalc.plan.schema import TABLES
from aquacalc.plan.short import COUNT, EVERY_BED, LIKE, expand, find_beds, short_keys
from aquacalc.plan.text import read_toml


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
    raw = read_toml(plan.text, plan.name)
    for path in (p for p in TABLES if "." not in p):
        if is_short(raw, TABLES[path]) and before.get(path) != tables.get(path):
            patch_short(document, raw, TABLES[path], before[path], tables.get(path, []), plan.units)
            continue
        patch(document, TABLES[path], path, before.get(path), tables.get(path), plan.units)
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
    AlreadyThere
        When the file is there and `force` is not set; a FileExistsError too.
    NotWritten
        When it cannot be written; an OSError too.
    """
    write_file(path, write_plan(plan), force=force)


def _dump(plan: Plan) -> dict:
    """Return the plan as the file has it: tables of {key: (SI value, mark)}, without what is left out."""
    found: dict[str, Any] = {}
    rest = around(plan)
    for path, table in TABLES.items():
        if "." in path:
            continue
        if path == "plan":
            found[path] = _dump_record("plan", plan, plan, "plan", rest)
        elif table.many:
            name = table.key(table.named_by).path
            found[path] = [
                _dump_record(path, record, plan, f"{path}.{getattr(record, name)}", rest)
                for record in getattr(plan, list_field(path))
            ]
        else:
            found[path] = _dump_record(path, getattr(plan, path), plan, path, rest)
    return {path: tables for path, tables in found.items() if tables or TABLES[path].required}


def _dump_record(path: str, record, plan: Plan, place: str, rest: Around) -> dict:
    table = TABLES[path]
    flat = flatten(path, record)
    given: dict[str, Any] = {}
    usual = unsaid_values(rest, path, flat)
    for key in table.keys:
        if key.name not in flat:
            continue
        mark = plan.marks.get(f"{place}.{key.name}")
        if mark is None and key.name in usual and flat[key.name] == usual[key.name]:
            continue
        if flat[key.name] is not None:
            value = _as_written(flat[key.name]) if key.kind == "fittings" else flat[key.name]
            given[key.name] = value, mark or GIVEN
    for name in table.inner:
        part = getattr(record, name)
        if part is not None:
            inner = _dump_record(f"{path}.{name}", part, plan, f"{place}.{name}", rest)
            if inner or TABLES[f"{path}.{name}"].required:
                given[name] = inner
    return given


def _as_written(fittings: tuple[Fitting, ...]) -> tuple[Fitting, ...]:
    """Drop the coefficients that follow from the table, so that only what the file states is compared."""
    return tuple(f if f.given else replace(f, k=0.0) for f in fittings)


def patch(toml, table: Table, name: str, before, after, system: str) -> None:
    """Change `toml[name]` from `before` to `after`."""
    import tomlkit

    if before == after:
        return
    if after is None:
        del toml[name]
    elif table.many:
        _patch_list(toml, table, name, before or [], after, system)
    elif before is None or name not in toml:
        new = toml_table(table, after, system, isinstance(toml, tomlkit.items.InlineTable))
        if not isinstance(new, tomlkit.items.InlineTable):
            new.add(tomlkit.nl())
        toml[name] = new
    else:
        patch_table(toml[name], table, before, after, system)


def _patch_list(toml, table: Table, name: str, before: list, after: list, system: str) -> None:
    """Change a list of tables, each known by its name."""
    import tomlkit

    key = table.named_by
    names = [record[key][0] for record in before]
    if names == [record[key][0] for record in after]:
        for one, old, new in zip(toml[name], before, after, strict=True):
            patch_table(one, table, old, new, system)
        return
    kept = dict(zip(names, zip(toml.get(name, []), before, strict=True), strict=True))
    array = tomlkit.aot()
    for record in after:
        if record[key][0] in kept:
            one, old = kept[record[key][0]]
            patch_table(one, table, old, record, system)
        else:
            one = toml_table(table, record, system)
        array.append(one)
    toml[name] = array


def patch_table(toml, table: Table, before: dict, after: dict, system: str) -> None:
    """Change the keys of one TOML table whose value or mark is another one."""
    for name in (*(k.name for k in table.keys), *table.inner):
        old, new = before.get(name), after.get(name)
        if old == new:
            continue
        key = table.key(name)
        if key is None:
            patch(toml, TABLES[f"{table.path}.{name}"], name, old, new, system)
        elif new is None:
            del toml[name]
        else:
            toml[name] = toml_value(key, new, system, toml.get(name))


def toml_table(table: Table, record: dict, system: str, inline: bool = False):
    """Return a new TOML table of a record."""
    import tomlkit

    toml = tomlkit.inline_table() if inline else tomlkit.table()
    for name, value in record.items():
        key = table.key(name)
        if key is None:
            toml[name] = toml_table(TABLES[f"{table.path}.{name}"], value, system, inline)
        else:
            toml[name] = toml_value(key, value, system, None)
    return toml


def toml_value(key: Key, said: tuple[Any, Mark], system: str, given):
    """Write a value, in a table with its mark where that says more than "given"."""
    import tomlkit

    value, mark = said

    if isinstance(given, dict):
        given = given.get("value")
    written = _plain_value(key, value, system, given)
    if mark == GIVEN:
        return written
    item = tomlkit.inline_table()
    item["value"] = written
    item["mark"] = mark.mark
    if mark.note:
        item["note"] = mark.note
    return item


def _plain_value(key: Key, value, system: str, given):
    """Write an SI value as TOML has it, in the unit of the text `given` before it."""
    if key.kind == "fittings":
        return _toml_fittings(value, system)
    if key.kind == "legs":
        return [write_leg(leg) for leg in value]
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
        unit = units.unit_of(given)
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


def is_short(raw: dict, table: Table) -> bool:
    """Whether the file writes tables of this name in a short way."""
    tables = [one for one in raw.get(table.path, ()) if table.many and isinstance(one, dict)]
    short = short_keys(table)
    return any(
        name in one
        or (table.path == "run" and (isinstance(one.get("from"), list) or one.get("from") == EVERY_BED))
        for one in tables
        for name in short
    )


def patch_short(document, raw: dict, table: Table, before: list, after: list, system: str) -> None:
    """Change a list of tables of which some stand for several or are like another.

    A table that stands for several takes a change that all of them have. Where
    they differ from now on, it is left to the first, and the others become
    tables `like` it with what differs.
    """
    import tomlkit

    key = table.named_by
    entries = expand(raw, table, find_beds(raw), lambda *_: None)
    array = tomlkit.aot()
    if [e.raw[key] for e in entries] != [record[key][0] for record in after]:
        for record in after:
            array.append(toml_table(table, record, system))
        document[table.path] = array
        return
    plain = {record[key][0]: _without(record, key) for record in after}
    for source, one in enumerate(list(document[table.path])):
        group = [i for i, entry in enumerate(entries) if entry.source == source]
        names = [after[i][key][0] for i in group]
        new = plain[names[0]]
        together = all(plain[name] == new for name in names)
        if not together:
            one.pop(COUNT, None)
            one[key] = names[0]
        old = _without(before[group[0]], key)
        array.append(_patched(one, names[0], table, old, new, plain.get(one.get(LIKE)), system))
        for name in names[1:] if not together else ():
            extra = tomlkit.table()
            extra[key], extra[LIKE] = name, names[0]
            array.append(_patched(extra, name, table, {}, plain[name], new, system))
    document[table.path] = array


def _without(record: dict, key: str) -> dict:
    return {name: value for name, value in record.items() if name != key}


def _patched(one, called: str, table: Table, old: dict, new: dict, like: dict | None, system: str):
    """Return a TOML table that says `new`, given what it takes from the one it is `like`."""
    if like is None:
        patch_table(one, table, old, new, system)
        return one
    names = [n for n in (*(k.name for k in table.keys), *table.inner) if n != table.named_by]
    if any(n in like and n not in new for n in names):  # what is like another cannot be without its keys
        said = {table.named_by: (called, GIVEN)}
        return toml_table(table, said | new, system)
    own = {n: old.get(n) for n in names if n in one}
    want = {n: new[n] for n in names if n in new and (n in one or new[n] != like.get(n))}
    patch_table(one, table, own, want, system)
    return one


def _new_text(plan: Plan, tables: dict) -> str:
    import tomlkit

    document = tomlkit.document()
    for path, found in tables.items():
        if TABLES[path].many:
            array = tomlkit.aot()
            for record in found:
                array.append(toml_table(TABLES[path], record, plan.units))
            document[path] = array
        else:
            document[path] = toml_table(TABLES[path], found, plan.units)
    return tomlkit.dumps(document)
