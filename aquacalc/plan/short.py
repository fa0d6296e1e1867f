"""Short ways to write a plan: equal beds by `count`, a part `like` another, runs of several beds.

What a file says is put in full before it is read: `count = 3` makes three
tables of one, `like = "bed 1"` starts from the table of bed 1, and a run with
`from = ["bed 1", "bed 2"]` or `from = "every bed"` stands for one run each.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from aquacalc import catalogue
from aquacalc.plan.key import Key, Table
from aquacalc.plan.schema import TABLES

#: Most beds of a plan.
MOST_BEDS = 500
EVERY_BED = "every bed"
#: Key of a short way: what it means, by its name.
COUNT, LIKE = "count", "like"


@dataclass(frozen=True)
class Entry:
    """One table of the file put in full: its own keys, and of which table of the file it is."""

    raw: dict
    source: int
    named: bool


def expand(
    raw: dict, table: Table, beds: list[str], fault: Callable[[str, object, str, str], None]
) -> list[Entry]:
    """Put the tables of one name in full.

    Parameters
    ----------
    raw : dict
        The file's tables.
    table : Table
        One that stands in a list.
    beds : list of str
        Names of the beds, for runs of every bed.
    fault : callable
        Told (key, value, reason, fix) of what cannot be used.

    Returns
    -------
    list of Entry
        In the order of the file; a name that is left out is filled in.
    """
    found: list[Entry] = []
    tables = [one for one in raw.get(table.path, ()) if isinstance(one, dict)]
    for source, one in enumerate(tables):
        place = place_of(table, one, source)
        own = {name: value for name, value in one.items() if name not in short_keys(table)}
        if LIKE in one:
            own = _like(table, own, one[LIKE], found, place, fault)
        names = _names(table, one, source, len(tables), _free(raw, table, beds, one), place, fault)
        if len(found) + len(names) > MOST_BEDS:
            fault(
                table.path,
                "",
                f"makes more than {MOST_BEDS}",
                f"keep to {MOST_BEDS} of a kind in one plan",
            )
            return found
        said = table.named_by in one and len(names) == 1 and not isinstance(one[table.named_by], list)
        found += [Entry({**own, table.named_by: name}, source, said) for name in names]
    return found


def short_keys(table: Table) -> tuple[str, ...]:
    """Return the keys of short ways that a table may have."""
    return tuple(key.name for key in table.short)


def place_of(table: Table, one: dict, source: int) -> str:
    """Say where a table stands: "bed.bed 1", or "bed number 1" when it has no usable name."""
    name = one.get(table.named_by)
    return f"{table.path}.{name}" if isinstance(name, str) and name else f"{table.path} number {source + 1}"


def _names(table: Table, one: dict, source: int, many: int, free: list[str], place: str, fault) -> list:
    """Names of the records that a table stands for; what is no name is left to the reader."""
    if table.path == "run":
        start = one.get("from")
        if start == EVERY_BED:
            if not free:
                fault(f"{place}.from", start, "leaves no bed", "name the beds, or take the run out")
            return free
        if isinstance(start, list) and start:
            return start
        return [start] if "from" in one else [None]
    plain = f"{table.path} {source + 1}" if many > 1 else table.path
    name = one.get(table.named_by, plain)
    if COUNT not in one or table.path != "bed":
        return [name]
    count = one[COUNT]
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= MOST_BEDS:
        fault(
            f"{place}.count", count, "is not a number of beds", f"write a whole number from 1 to {MOST_BEDS}"
        )
        return [name]
    base = name if table.named_by in one else table.path
    return [f"{base} {n}" for n in range(1, count + 1)] if isinstance(base, str) else [base]


def _free(raw: dict, table: Table, beds: list[str], one: dict) -> list[str]:
    """Beds that no other run and no siphon empties."""
    if table.path != "run" or one.get("from") != EVERY_BED:
        return []
    taken = {s.get("host") for s in raw.get("siphon", ()) if isinstance(s, dict)}
    for run in raw.get("run", ()):
        start = run.get("from") if isinstance(run, dict) else None
        taken |= {n for n in (start if isinstance(start, list) else [start]) if isinstance(n, str)}
    return [name for name in beds if name not in taken]


def _like(table: Table, own: dict, model: object, above: list[Entry], place: str, fault) -> dict:
    """Start from the table of another record that stands above."""
    known = [entry.raw[table.named_by] for entry in above]
    if model not in known:
        names = [str(name) for name in known]
        near = catalogue.near_matches(str(model), names)
        fix = catalogue.suggestion(near, names) if names else "write the first one in full"
        fault(f"{place}.like", model, f"is not a {table.path} listed above it", fix)
        return own
    start = {k: v for k, v in above[known.index(model)].raw.items() if k != table.named_by}
    shape = own.get("shape", start.get("shape"))
    if shape != start.get("shape"):
        start = {k: v for k, v in start.items() if not _of_another(table.key(k), shape)}
    return start | own


def _of_another(key: Key | None, shape: object) -> bool:
    return key is not None and bool(key.shapes) and shape not in key.shapes


def find_beds(raw: dict) -> list[str]:
    """Return the names of the beds of a file."""
    beds = expand(raw, TABLES["bed"], [], lambda *_: None)
    return [entry.raw["name"] for entry in beds if isinstance(entry.raw["name"], str)]
