"""A plan's TOML text to records, with every fault of what cannot be read."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from typing import Any

from aquacalc import catalogue
from aquacalc.plan import model
from aquacalc.plan.check import faults_of, name_problem
from aquacalc.plan.errors import Fault, PlanError
from aquacalc.plan.key import Key, Table
from aquacalc.plan.legs import AGREES
from aquacalc.plan.marks import GIVEN, LONGEST_NOTE, MARKS
from aquacalc.plan.records import Around, build, derived, list_field, names, starts, usual_shape
from aquacalc.plan.schema import TABLES
from aquacalc.plan.short import Entry, expand, find_beds, place_of, short_keys
from aquacalc.plan.text import clean, plan_text_of, read_text, read_toml
from aquacalc.plan.values import Values

_HEAD = re.compile(r"\s*\[\[?\s*([\w. -]+?)\s*\]")
_KEY = re.compile(r"\s*([\w-]+)\s*=")


def read_plan(path) -> model.Plan:
    """Read a plan file, or the plan inside a live page.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Plan
        Checked by `check_plan`; its `text` is the file's text.

    Raises
    ------
    PlanError
        For a file that cannot be read, is no plan, or holds a plan that cannot
        be built; every fault in the order of the file, each with key, value and fix.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> read_plan(data_dir() / "plans" / "one-bed.toml").name
    'One bed of herbs'
    """
    return plan_from_text(plan_text_of(read_text(path), str(path)), str(path))


def plan_from_text(text: str, name: str = "plan") -> model.Plan:
    """Read a plan from its TOML text; `name` stands in errors as the file.

    Raises
    ------
    PlanError
    """
    if "\0" in text:
        raise PlanError(name, "", "", "is a binary file", "save the plan as plain text in UTF-8")
    reader = _Reader(name)
    plan = reader.plan(read_toml(text, name), text)
    faults = reader.faults
    if plan is not None:
        known = {fault.key for fault in faults}
        faults = [*faults, *(f for f in faults_of(plan, reader.broken) if f.key not in known)]
    if faults:
        lines = _lines(text)
        placed = [replace(fault, line=_line(fault.key, reader.places, lines)) for fault in faults]
        # What one line says of several equal parts is told once.
        told: dict[tuple, Fault] = {}
        for fault in placed:
            told.setdefault((fault.line or fault.key, fault.value, fault.reason), fault)
        raise PlanError.of(name, sorted(told.values(), key=lambda fault: fault.line or len(text)))
    return plan


def _lines(text: str) -> dict[tuple[str, int, str], int]:
    """Line of each key as {(table, which of that name, key within): line}, and of each table with key ""."""
    found: dict[tuple[str, int, str], int] = {}
    counts: dict[str, int] = {}
    table, within = "", ""
    for number, line in enumerate(text.splitlines(), 1):
        head, key = _HEAD.match(line), _KEY.match(line)
        if head and "=" not in line.partition("]")[0]:
            table, _, within = head[1].partition(".")
            if line.lstrip().startswith("[[") or not within:
                counts[table] = counts.get(table, -1) + 1
            found.setdefault((table, max(counts.get(table, 0), 0), within), number)
        elif key:
            at = (table, counts.get(table, 0), ".".join(filter(None, (within, key[1]))))
            found.setdefault(at if table else (key[1], 0, ""), number)
    return found


def _line(key: str, places: dict[str, tuple[str, int]], lines: dict) -> int:
    """Line of a fault: its key's, or that of the nearest table around it; 0 when there is none."""
    parts = key.split(".")
    for split in range(len(parts), 0, -1):
        place = places.get(".".join(parts[:split]))
        if place:
            for end in range(len(parts), split - 1, -1):
                line = lines.get((*place, ".".join(parts[split:end])))
                if line:
                    return line
            return lines.get((*place, ""), 0)
    return lines.get((parts[0], 0, ".".join(parts[1:])), lines.get((parts[0], 0, ""), 0))


@cache
def _stand_in(path: str, name: str) -> Any:
    """Value that stands for one that cannot be read, so that the rest can still be checked."""
    import tomllib

    key = TABLES[path].key(name)
    if key.kind == "fittings":
        return ()
    raw = tomllib.loads(f"{name} = {key.example.split(' or ')[0]}")[name]
    return Values("example").value(key, raw, name)


class _Reader(Values):
    """Reads one file's tables.

    Attributes
    ----------
    faults : list of Fault
    broken : list of str
        Keys whose value is only a stand-in.
    places : dict
        Where each record is in the file: {"bed.bed 1": ("bed", 0)}.
    """

    def __init__(self, file: str):
        super().__init__(file)
        self.rest = Around()
        self.marks: dict[str, model.Mark] = {}
        self.faults: list[Fault] = []
        self.broken: list[str] = []
        self.places: dict[str, tuple[str, int]] = {}

    def note(self, key: str, value: Any, reason: str, fix: str) -> None:
        """Keep a fault and go on."""
        self.faults.extend(PlanError(self.file, key, value, reason, fix).faults)

    def attempt(self, path: str, name: str, place: str, read, *given):
        """Return what `read` reads; note its fault and return a stand-in when it cannot."""
        try:
            return read(*given)
        except PlanError as error:
            self.faults.extend(error.faults)
            return self.stand_in(path, name, place)

    def stand_in(self, path: str, name: str, place: str):
        """Return a value that stands for one that cannot be read."""
        self.broken.append(f"{place}.{name}")
        return _stand_in(path, name)

    def plan(self, raw: dict, text: str) -> model.Plan | None:
        """Return the plan, with stand-ins for what cannot be read; None when a table is missing."""
        tops = [t for t in TABLES if "." not in t]
        self.unknown(raw, tops, "", "table")
        found: dict[str, Any] = {}
        whole = True
        # Runs take elevations from what they join, so they come last.
        for path in sorted(tops, key=lambda path: path == "run"):
            table = TABLES[path]
            if path not in raw and table.required:
                brackets = f"[[{path}]]" if table.many else f"[{path}]"
                self.note(path, "", "is missing", f"add {brackets} to the plan")
                whole = False
            elif path == "plan":
                found.update(self.flat("plan", raw.get("plan", {}), "plan"))
                self.rest = replace(self.rest, units=found["units"])
            elif table.many:
                records = self.many(table, raw)
                whole = whole and (path not in raw or isinstance(raw[path], list))
                found[list_field(path)] = records
                whole = whole and (bool(records) or not table.required)
                self.around(path, records)
            else:
                found[path] = self.record(path, raw.get(path, {}), path)
        return model.Plan(**found, text=text, marks=self.marks) if whole else None

    def around(self, path: str, records: tuple) -> None:
        """Keep what other tables take from these."""
        if path == "tee":
            begin = {**self.rest.starts, **starts(records)}
            self.rest = replace(self.rest, tees={tee.name: tee.elevation for tee in records}, starts=begin)
        elif path in ("bed", "chamber"):
            floors = {**self.rest.floors, **{vessel.name: vessel.floor for vessel in records}}
            chambers = tuple(c.name for c in records) if path == "chamber" else self.rest.chambers
            begin = {**self.rest.starts, **(starts(records) if path == "bed" else {})}
            self.rest = replace(self.rest, floors=floors, chambers=chambers, starts=begin)

    def many(self, table: Table, raw: dict) -> tuple:
        """Read the tables of one name."""
        tables = raw.get(table.path, [])
        if not isinstance(tables, list) or not all(isinstance(one, dict) for one in tables):
            self.note(table.path, tables, "is not a list of tables", f"head each with [[{table.path}]]")
            return ()
        if not tables and table.required:
            self.note(table.path, "", "is empty", f"add [[{table.path}]] to the plan")
        for source, one in enumerate(tables):
            self.places[place_of(table, one, source)] = (table.path, source)
        entries = expand(raw, table, find_beds(raw) if table.path == "run" else [], self.note)
        return tuple(self.entry(table, entry) for entry in entries)

    def entry(self, table: Table, entry: Entry):
        """Read one table of a list, put in full."""
        place = place_of(table, entry.raw, entry.source)
        self.places.setdefault(place, (table.path, entry.source))
        raw = {k: v for k, v in entry.raw.items() if v is not None}
        return self.record(table.path, raw, place)

    def record(self, path: str, raw: Any, place: str):
        """Read one table and the tables inside it."""
        flat = self.flat(path, raw, place)
        raw = raw if isinstance(raw, dict) else {}
        inner = {}
        for name in TABLES[path].inner:
            part = TABLES[f"{path}.{name}"]
            given = name in raw or part.required
            if given or (path == "siphon" and not any(key.required for key in part.keys)):
                if name not in raw and part.required:
                    others = (k for k in raw if TABLES[path].key(k) is None and k not in TABLES[path].inner)
                    if not any(name in catalogue.near_matches(k, TABLES[path].inner) for k in others):
                        self.note(f"{place}.{name}", "", "is missing", f"add [{path}.{name}] with its keys")
                    inner[name] = self.muted(part.path, f"{place}.{name}")
                else:
                    inner[name] = self.record(part.path, raw.get(name, {}), f"{place}.{name}")
            else:
                inner[name] = None
        return build(path, flat, **inner)

    def muted(self, path: str, place: str):
        """Return a record of stand-ins only."""
        before = len(self.faults)
        record = self.record(path, {}, place)
        del self.faults[before:]
        return record

    def flat(self, path: str, raw: Any, place: str) -> dict:
        """Read the keys of one table: {key: SI value}."""
        table = TABLES[path]
        if not isinstance(raw, dict):
            self.note(place, raw, "is not a table", f"write [{path}] and its keys on the lines below")
            raw, before = {}, len(self.faults)
        else:
            before = None
        known = [*(k.name for k in table.keys), *table.inner]
        meant = self.unknown(raw, [*known, *short_keys(table)], place, "key")
        raw = {
            name: self.attempt_unmarked(table, name, value, place)
            for name, value in raw.items()
            if name in known
        }
        raw = {name: value for name, value in raw.items() if value is not None}
        meant |= {key.rpartition(".")[2] for key in self.broken if key.startswith(f"{place}.")}
        flat = self.given(table, raw, place, meant)
        self.names(path, flat, place)
        worked = self.lookup(path, flat, place)
        if flat.get("legs") and abs(flat.get("length", 0.0) - worked.get("length", 0.0)) <= AGREES:
            flat["length"] = worked["length"]  # what is computed is what is laid
        flat = worked | flat
        for key in table.keys:
            due = not key.shapes or flat["shape"] in key.shapes
            if key.kind == "fittings" and key.name in raw:
                at = f"{place}.{key.name}"
                flat[key.name] = self.attempt(
                    path, key.name, place, self.fittings, raw[key.name], flat["bore"], at
                )
            elif key.derived and key.name not in flat and due:
                if key.name != "outfall" or flat["to"] in self.rest.floors:
                    self.missing(path, place, key, meant)  # else `to` is no vessel: that is the fault to tell
                flat[key.name] = self.stand_in(path, key.name, place)
        if before is not None:
            del self.faults[before:]
        return flat

    def given(self, table: Table, raw: dict, place: str, meant: set[str]) -> dict:
        """Read the values that are written, and those with a default of their own."""
        path, flat = table.path, {}
        if table.key("shape"):
            flat["shape"] = usual_shape(path, raw)
            if "shape" in raw:
                at = f"{place}.shape"
                flat["shape"] = self.attempt(
                    path, "shape", place, self.value, table.key("shape"), raw["shape"], at
                )
        sure = f"{place}.shape" not in self.broken
        for key in table.keys:
            at = f"{place}.{key.name}"
            if key.name == "shape" or (key.kind == "fittings" and key.name in raw):
                continue
            if key.shapes and flat["shape"] not in key.shapes:
                if key.name in raw and sure:
                    others = ", ".join(key.shapes)
                    self.note(
                        at,
                        raw[key.name],
                        f"does not belong to the shape {flat['shape']}",
                        f"leave it out, or give another shape ({others})",
                    )
            elif key.name in raw:
                flat[key.name] = self.attempt(path, key.name, place, self.value, key, raw[key.name], at)
            elif key.required:
                if sure or not key.shapes:
                    self.missing(path, place, key, meant)
                flat[key.name] = self.stand_in(path, key.name, place)
            elif not key.derived:
                flat[key.name] = key.default_value()
        for name, value in names(path, flat, self.rest).items():
            flat.setdefault(name, value)
        return flat

    def attempt_unmarked(self, table: Table, name: str, raw: Any, place: str) -> Any:
        """Keep the mark of a value, and return the value."""
        try:
            return self.unmarked(table, name, raw, place)
        except PlanError as error:
            self.faults.extend(error.faults)
            if isinstance(raw, dict) and "value" in raw:
                return raw["value"]
            self.broken.append(f"{place}.{name}")
            return None

    def unmarked(self, table: Table, name: str, raw: Any, place: str) -> Any:
        """Keep the mark of a value, and return the value."""
        key, at = table.key(name), f"{place}.{name}"
        if key is None:
            return raw
        if not isinstance(raw, dict):
            if not key.required:
                self.marks[at] = GIVEN
            return raw
        self.unknown(raw, ["value", "mark", "note"], at, "part of a value")
        if "value" not in raw:
            example = key.example.split(" or ")[0]
            self.fail(at, "", "has no value", f'write {name} = {{ value = {example}, mark = "measured" }}')
        mark, note = raw.get("mark", "given"), raw.get("note", "")
        if mark not in tuple(MARKS):
            near = catalogue.near_matches(str(mark), MARKS)
            self.fail(f"{at}.mark", mark, "is not a mark", catalogue.suggestion(near, MARKS))
        if not isinstance(note, str) or len(note) > LONGEST_NOTE or not clean(note):
            fix = f"write up to {LONGEST_NOTE} characters in quotes, on one line"
            self.fail(f"{at}.note", note, "is not a usable note", fix)
        self.marks[at] = model.Mark(mark, note)
        return raw["value"]

    def missing(self, path: str, place: str, key: Key, meant: set[str]) -> None:
        """Note a key that is missing, unless a misspelt one was meant for it."""
        if key.name not in meant:
            fix = f"add {key.name} = {key.example.split(' or ')[0]}"
            self.note(f"{place}.{key.name}", "", f"is missing ({key.meaning.split(';')[0]})", fix)

    def unknown(self, raw: dict, known: list[str], place: str, what: str) -> set[str]:
        """Note what is not a key here; return the keys that were meant, as far as they can be guessed."""
        meant: set[str] = set()
        for name in raw:
            if name not in known:
                near = catalogue.near_matches(name, known)
                meant |= set(near)
                at = f"{place}.{name}".lstrip(".")
                self.note(at, raw[name], f"is not a {what} of a plan here", catalogue.suggestion(near, known))
        return meant

    def names(self, path: str, flat: dict, place: str) -> None:
        """Note a name that a path of an edit could not hold."""
        name = flat.get("name")
        if path != "plan" and name is not None and f"{place}.name" not in self.broken:
            problem = name_problem(path, name)
            if problem:
                self.note(f"{place}.name", name, *problem)
                self.broken.append(f"{place}.name")

    def lookup(self, path: str, flat: dict, place: str) -> dict:
        """Put the tables' own spelling in `flat`; return the values derived from them."""
        key = ""
        try:
            if path == "siphon.bell" and not flat["series"]:
                flat["size"] = ""
            elif flat.get("series") and flat["series"].casefold() == catalogue.OWN:
                flat["series"] = catalogue.OWN
            elif "series" in flat:
                key = "series"
                flat["series"] = catalogue.sizes(flat["series"])[0].series
                key = "size"
                flat["size"] = catalogue.pipe(flat["series"], flat["size"]).size
            if path == "bed" and flat["media"].casefold() == catalogue.OWN:
                flat["media"] = catalogue.OWN
            elif path == "bed":
                key = "media"
                flat["media"] = catalogue.media(flat["media"]).name
            if flat.get("seal"):
                key = "seal"
                flat["seal"] = catalogue.seal(flat["seal"])
        except catalogue.CatalogueError as error:
            fix = error.fix
            if key == "series":
                fix += f'; or "{catalogue.OWN}" with bore, outside_diameter and roughness'
            if key == "media":
                fix += f'; or "{catalogue.OWN}" with porosity, bulk_density, grain_smallest and grain_largest'
            at = f"{place}.{key}"
            if at not in self.broken:
                self.note(at, flat[key], "is not in the tables", fix)
                self.broken.append(at)
            return self.stand_ins(path, flat, place)
        return derived(path, flat, self.rest)

    def stand_ins(self, path: str, flat: dict, place: str) -> dict:
        """Return stand-ins for all that would be derived."""
        due = (k for k in TABLES[path].keys if k.derived and (not k.shapes or flat["shape"] in k.shapes))
        return {k.name: _stand_in(path, k.name) for k in due}
