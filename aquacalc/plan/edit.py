"""One value of a plan, got or put by its path: "bed.bed 1.porosity", "siphon.standpipe.height".

A path is the table, the name of the record where there are several ("*" for
all of them, left out for an only siphon), the inner table if any, and the key
as the file has it. Values are SI floats, or text where the key is text.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from functools import lru_cache
from typing import Any

from aquacalc import catalogue, units
from aquacalc.plan.marks import GIVEN, may_be_left_out, unsaid_values
from aquacalc.plan.model import Bell, Mark, Pipe, Plan
from aquacalc.plan.records import around, flatten, list_field, refitted, tables_of
from aquacalc.plan.schema import TABLES
from aquacalc.plan.shapes import Shape, make

#: Values that are a whole record: a pipe by itself, and a strainer, delivery pipe or breather (or None).
WHOLE = ("pipe", "strainer", "delivery", "breather")
#: Keys that other values may come from where nobody gave those.
_LEADS = {
    "bore", "depth", "diameter", "elevation", "floor", "freeboard", "host", "legs", "media", "outlet",
    "outlet_height", "outside_diameter", "rim_height", "series", "shape", "size", "to", "units",
}  # fmt: skip
_PIPE_FIELDS = ("series", "size", "bore", "outside_diameter", "roughness")


def get(plan: Plan, path: str):
    """Return the value at `path`.

    Parameters
    ----------
    plan : Plan
    path : str

    Returns
    -------
    float, int, str, tuple, record or None
        In SI units; for "*" a tuple with one value for each record.

    Raises
    ------
    KeyError
        For a path that leads nowhere.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> get(plan, "bed.bed.depth")
    0.3
    """
    table, name, rest, records = _split(plan, path)
    if name == "*":
        return tuple(_get(record, _fields(table, rest, path)) for record in records)
    if name:
        return _get(records[_index(table, records, name, path)], _fields(table, rest, path))
    return _get(plan if table == "plan" else getattr(plan, table), _fields(table, rest, path))


def full_path(plan: Plan, path: str) -> str:
    """Return a path with the name of its record, where an only siphon's was left out; KeyError as `get`."""
    table, name, rest, records = _split(plan, path)
    if name:
        _index(table, records, name, path)
    _fields(table, rest, path)
    return ".".join(filter(None, (table, name, *rest)))


def kind_of(plan: Plan, path: str) -> str:
    """Return the kind of unit of the number at `path`; TypeError for what is none, KeyError as `get`."""
    get(plan, path)
    table, _, rest, _ = _split(plan, path)
    key = _key(table, rest, path)[1]
    if key is None or not key.numeric:
        raise TypeError(f'"{path}" is not a number. Fix: name a value such as pump.flow')
    return key.kind


def put(plan: Plan, values: dict[str, Any], mark: str = "given", note: str = "") -> Plan:
    """Return the plan with other values.

    Nothing but the type of each value is checked: `check_plan` does the rest.
    Putting a `size` or `series` brings the bore, diameter and roughness of that
    pipe; loss coefficients that depend on the bore follow it.

    Parameters
    ----------
    plan : Plan
    values : dict of str to object
        {path: value in SI units}.
    mark, note : str
        What the new values rest on; a value that does not change keeps its
        mark unless one is named here.

    Raises
    ------
    KeyError
        For a path that leads nowhere.
    TypeError
        For a value that is not of the key's type.
    CatalogueError
        For a pipe that is in no table.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> get(put(plan, {"bed.bed.depth": 0.35}), "bed.bed.depth")
    0.35
    """
    made = GIVEN if (mark, note) == ("given", "") else Mark(mark, note)
    for path, value in values.items():
        changed = _put_one(plan, path, value)
        if made is not GIVEN or changed != plan:
            changed = _with(changed, "marks", _marks(plan, path, value, made))
        plan = changed
    return plan


def put_text(plan: Plan, texts: dict[str, str], file: str = "change") -> Plan:
    """Return the plan with values as people write them: {"siphon.standpipe.height": "410 mm"}.

    Parameters
    ----------
    plan : Plan
    texts : dict of str to str
        {path: value as in a plan file; words need no quotes}.
    file : str
        Stands in the error as the file.

    Raises
    ------
    PlanError
        For a value that cannot be read.
    KeyError
        For a path that leads nowhere.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> put_text(plan, {"siphon.standpipe.height": "410 mm"}).siphons[0].standpipe.height
    0.41
    """
    import tomllib

    from aquacalc.plan.values import Values

    for path, text in texts.items():
        table, _, rest, _ = _split(plan, path)
        key = _key(table, rest, path)[1]
        if key is None:
            raise KeyError(f'"{path}" is a whole table. Fix: name one of its keys')
        try:
            raw = tomllib.loads(f"v = {text}")["v"] if len(text) < 2000 else text
        except ValueError:
            raw = text
        if isinstance(raw, (int, float)) and key.kind in ("text", "choice"):
            raw = text
        values = Values(file)
        if key.kind == "fittings":
            bore = get(plan, f"{path.rpartition('.')[0]}.bore")
            value = values.fittings(raw, bore if isinstance(bore, float) else bore[0], path)
        else:
            value = values.value(key, raw, path)
        before = unsaid(plan)
        plan = followed(put(plan, {path: value}), before, texts)
    return plan


def unsaid(plan: Plan) -> dict[str, Any]:
    """Return {path: value} of what nobody gave: the usual, or what comes from other values.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of str to object
        SI values.
    """
    rest, found = around(plan), {}
    for table, place, record in tables_of(plan):
        flat = flatten(table, record)
        for name, value in unsaid_values(rest, table, flat).items():
            path = f"{place}.{name}"
            if path not in plan.marks and flat.get(name) == value and _comes(table, name):
                found[path] = value
    return found


@lru_cache(maxsize=4096)
def _comes(table: str, name: str) -> bool:
    """Whether a key left out comes from other values, and is not looked up with its pipe."""
    key = TABLES[table].key(name)
    return key is not None and bool(key.derived) and name not in _PIPE_FIELDS


def followed(plan: Plan, before: dict[str, Any], said: Collection[str]) -> Plan:
    """Let what nobody gave follow the values that were put: a media brings its porosity, a depth its fill.

    Parameters
    ----------
    plan : Plan
        After the change.
    before : dict
        What `unsaid` returned of the plan before it.
    said : collection of str
        Paths that were put, which stay.

    Returns
    -------
    Plan
    """
    if not _LEADS & {path.rpartition(".")[2] for path in said}:
        return plan
    rest = around(plan)
    kept = {full_path(plan, path) for path in said if ".*." not in path}
    every = {path.partition(".*.")[::2] for path in said if ".*." in path}
    for table, place, record in tables_of(plan):
        for name, value in unsaid_values(rest, table, flatten(table, record)).items():
            path = f"{place}.{name}"
            if before.get(path, value) == value or path in kept or (table, name) in every:
                continue
            plan = _put_one(plan, path, value)
    return plan


def _marks(plan: Plan, path: str, value: Any, made: Mark) -> dict[str, Mark]:
    """Return the plan's marks after a value was put at `path`."""
    marks = dict(plan.marks)
    table, name, rest, records = _split(plan, path)
    names = _names(table, records) if name == "*" else [name]
    places = [f"{table}.{one}" for one in names] if name else [table]
    at = ".".join((table, *rest[:-1]))
    for place in places:
        here = ".".join((place, *rest))
        key = TABLES[at].key(rest[-1])
        if key is None:  # of a whole record
            beside = here.rpartition(".")[0]
            gone = (
                [f"{beside}.{f}" for f in _PIPE_FIELDS]
                if rest[-1] == "pipe"
                else [m for m in marks if m.startswith(here + ".")]
            )
            for one in gone:
                marks.pop(one, None)
            continue
        if rest[-1] == TABLES[table].named_by and len(rest) == 1:
            new = f"{table}.{value}"
            marks = {new + m[len(place) :] if m.startswith(place + ".") else m: v for m, v in marks.items()}
            continue
        marks.pop(here, None)
        if rest[-1] in ("series", "size"):
            for one in ("bore", "outside_diameter", "roughness"):
                marks.pop(f"{here.rpartition('.')[0]}.{one}", None)
        if value is not None and (made is not GIVEN or may_be_left_out(at, rest[-1])):
            marks[here] = made
    return marks


def _names(table: str, records: tuple) -> list[str]:
    field = "start" if table == "run" else "name"
    return [getattr(record, field) for record in records]


def _put_one(plan: Plan, path: str, value: Any) -> Plan:
    table, name, rest, records = _split(plan, path)
    i = _index(table, records, name, path) if name not in ("", "*") else 0
    fields, value = _fields(table, rest, path), _typed(table, rest, value, path)
    if table == "plan":
        return _put(plan, fields, value)
    if not name:
        return _with(plan, table, _put(getattr(plan, table), fields, value))
    if name == "*":
        return _with(plan, list_field(table), tuple(_put(record, fields, value) for record in records))
    return _with(plan, list_field(table), (*records[:i], _put(records[i], fields, value), *records[i + 1 :]))


def _with(record, field: str, value):
    """`dataclasses.replace` of one field, without its cost."""
    copy = object.__new__(type(record))
    copy.__dict__.update(record.__dict__)
    for index in ("_vessels", "_siphons", "_hosted", "_tees", "_runs"):  # of a plan
        copy.__dict__.pop(index, None)
    copy.__dict__[field] = value
    return copy


def _split(plan: Plan, path: str) -> tuple[str, str, tuple[str, ...], tuple]:
    """Split a path into table, name of the record ("" where there is only one), the rest, and the records.

    An only siphon's name may be left out.
    """
    table, *parts = path.split(".")
    rest = tuple(parts)
    if table not in TABLES:
        known = [name for name in TABLES if "." not in name]
        fix = catalogue.suggestion(catalogue.near_matches(table, known), known)
        raise KeyError(f'"{path}": "{table}" is not a table of a plan. Fix: {fix}')
    if not TABLES[table].many:
        return table, "", rest, ()
    records = getattr(plan, list_field(table))
    if not rest:
        raise KeyError(f'"{path}" has no key. Fix: write {path}.NAME.KEY')
    if table == "siphon" and len(records) == 1 and rest[0] not in ("*", records[0].name):
        return table, records[0].name, rest, records
    return table, rest[0], rest[1:], records


def _index(table: str, records: tuple, name: str, path: str) -> int:
    known = _names(table, records)
    if name in known:
        return known.index(name)
    raise KeyError(f'"{path}": there is no {table} "{name}". Fix: {catalogue.suggestion((), known)}')


@lru_cache(maxsize=4096)
def _fields(table: str, rest: tuple[str, ...], path: str) -> tuple[str, ...]:
    """Return the fields that lead from the record to the value."""
    inner, key = _key(table, rest, path)
    if key is None:
        return (*inner, rest[-1])
    return (*inner, *key.path.split("."))


def _key(table: str, rest: tuple[str, ...], path: str):
    """Return (fields of the inner tables, Key); Key is None for a whole record."""
    if not rest:
        raise KeyError(f'"{path}" has no key. Fix: write {path}.KEY')
    at = ".".join((table, *rest[:-1]))
    if at in TABLES:
        found = TABLES[at]
        key = found.key(rest[-1])
        holds_pipe = rest[-1] == "pipe" and any(k.path == "pipe.bore" for k in found.keys)
        if key is not None or holds_pipe or (rest[-1] in WHOLE and rest[-1] in found.inner):
            return rest[:-1], key
        known = [k.name for k in found.keys]
        fix = catalogue.suggestion(catalogue.near_matches(rest[-1], known), known)
        raise KeyError(f'"{path}": "{rest[-1]}" is not a key of {at}. Fix: {fix}')
    known = [name for name in TABLES if name.startswith(f"{table}.")]
    fix = catalogue.suggestion((), known) if known else f"write {table}.KEY"
    raise KeyError(f'"{path}": "{at}" is not a table of a plan. Fix: {fix}')


@lru_cache(maxsize=4096)
def _type(table: str, rest: tuple[str, ...], path: str) -> tuple[type, ...]:
    """Return the types that a value may have; the first is what it becomes."""
    key = _key(table, rest, path)[1]
    if key is None:
        return (object,)
    if key.numeric:
        return (float, int) if key.default is not None else (float, int, type(None))
    types = {"count": (int,), "text": (str,), "choice": (str,)}.get(key.kind, (tuple,))
    return types if key.default is not None else (*types, type(None))


def _typed(table: str, rest: tuple[str, ...], value: Any, path: str):
    types = _type(table, rest, path)
    fits = isinstance(value, types)
    if fits and not isinstance(value, bool):
        return float(value) if types[0] is float and value is not None else value
    if types[0] is float and value is not None and not isinstance(value, bool):
        return units.si(value, _key(table, rest, path)[1].kind, path)
    raise TypeError(f'"{path}" = {value!r} is not {" or ".join(t.__name__ for t in types)}')


def _get(record, fields: tuple[str, ...]):
    for field in fields:
        record = getattr(record, field)
    return record


def _put(record, fields: tuple[str, ...], value):
    head = fields[0]
    if len(fields) > 1:
        inner = getattr(record, head)
        if inner is None:
            raise KeyError(f'there is no {head} in "{getattr(record, "name", "this table")}"')
        value = _put(inner, fields[1:], value)
    if head in ("series", "size"):
        return _resized(record, head, value)
    if head == "kind" and isinstance(record, Shape):
        return make(value, **vars(record))  # with the sizes that both shapes have; the others follow
    changed = _with(record, head, value)
    if head in ("length", "fittings", "outfall", "outlet") and getattr(record, "legs", None):
        return _with(changed, "legs", ())  # the way that was measured leg by leg is no longer this one
    if head == "pipe" and hasattr(record, "fittings"):
        return _with(changed, "fittings", refitted(changed.fittings, changed.pipe.bore))
    return changed


def _resized(record: Pipe | Bell, head: str, value: str) -> Pipe | Bell:
    """Look the pipe up again; a size that the new series lacks is left to be put next."""
    if getattr(record, head) == value:
        return record
    changed = _with(record, head, value)
    if value in ("", catalogue.OWN) or changed.series in ("", catalogue.OWN):
        return changed
    if head == "series" and changed.size not in {s.size for s in catalogue.sizes(value)}:
        return changed
    found = catalogue.pipe(changed.series, changed.size)
    return replace(
        changed,
        **{f: getattr(found, f) for f in _PIPE_FIELDS if hasattr(record, f)},
    )
