"""What each value of a plan rests on: given, measured, assumed or derived.

In the file a value is plain, or a table that says more:
`porosity = { value = "45 %", mark = "measured", note = "bucket test 27 November" }`.
A plain value is given. One that is left out is assumed where the schema has a
default with its reason, and derived where it follows from other values.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from aquacalc.plan.key import REQUIRED, Key
from aquacalc.plan.model import Mark, Plan
from aquacalc.plan.records import Around, around, derived, flatten, tables_of
from aquacalc.plan.schema import TABLES

#: The marks there are, with what each says.
MARKS = {
    "given": "the grower says so",
    "measured": "the grower measured it",
    "assumed": "not given; the program uses the usual value",
    "derived": "it follows from other values",
}
GIVEN = Mark("given")
#: Most characters of a note.
LONGEST_NOTE = 300


def left_out(key: Key) -> Mark:
    """Return the mark of a key that the plan does not state, with its reason."""
    if key.derived and not key.reason:
        return Mark("derived", key.derived)
    return Mark("assumed", key.reason)


def mark_of(plan: Plan, path: str) -> Mark:
    """Return the mark of one value.

    Parameters
    ----------
    plan : Plan
    path : str
        As in `aquacalc.plan.edit`: "bed.bed 1.porosity".

    Returns
    -------
    Mark
        A value that nobody marked is assumed or derived when it is what the
        schema takes for a key left out, else given.

    Raises
    ------
    KeyError
        For a path that leads nowhere, and for "*".

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan import read_plan
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> mark_of(plan, "bed.bed.porosity").mark
    'assumed'
    """
    from aquacalc.plan.edit import full_path

    path = full_path(plan, path)
    if path in plan.marks:
        return plan.marks[path]
    place, _, name = path.rpartition(".")
    for table, at, record in tables_of(plan):
        if at == place:
            return _unsaid(around(plan), table, record, TABLES[table].key(name))
    raise KeyError(f'"{path}" is not a value of this plan')


def values_of(plan: Plan) -> Iterator[tuple[str, Key, Any, Mark]]:
    """Yield (path, key, value in SI units, mark) of every value of the plan, in the file's order."""
    rest = around(plan)
    for table, place, record in tables_of(plan):
        for name, value in flatten(table, record).items():
            if value not in (None, "", ()):
                key = TABLES[table].key(name)
                path = f"{place}.{name}"
                yield path, key, value, plan.marks.get(path) or _unsaid(rest, table, record, key)


def _unsaid(rest: Around, table: str, record, key: Key | None) -> Mark:
    """Mark of a value that the plan's marks do not hold."""
    if key is None or (key.default is REQUIRED and not key.derived):
        return GIVEN
    flat = flatten(table, record)
    usual = unsaid_values(rest, table, flat).get(key.name, REQUIRED)
    return left_out(key) if flat[key.name] == usual else GIVEN


def unsaid_values(rest: Around, table: str, flat: dict) -> dict:
    """Return {key: value} that the keys of a table would have, were they left out."""
    found = derived(table, flat, rest)
    usual = {k.name: k.default_value() for k in TABLES[table].keys if k.default is not REQUIRED}
    return usual | found


def shown_mark(mark: Mark) -> str:
    """Write a mark for a reader: "measured: bucket test"; nothing for a value that is simply given."""
    if mark == GIVEN:
        return ""
    return f"{mark.mark}: {mark.note}" if mark.note else mark.mark


@lru_cache(maxsize=4096)
def may_be_left_out(table: str, name: str) -> bool:
    """Whether a key of a table may be left out, so that writing it plainly says something."""
    key = TABLES[table].key(name)
    return key is not None and not key.required
