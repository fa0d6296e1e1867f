"""A plan's TOML text to records, with one clear error for what cannot be read."""

from __future__ import annotations

import math
import re
import tomllib
from pathlib import Path

from aquacalc import catalogue, units
from aquacalc.equations import losses
from aquacalc.plan import model
from aquacalc.plan.check import check_plan, range_problem
from aquacalc.plan.errors import PlanError
from aquacalc.plan.records import build, derived, fitting_k, list_field
from aquacalc.plan.schema import REQUIRED, TABLES, Key, Table

#: A plan is some kB of text; a larger file is something else.
LARGEST_FILE = 1_000_000
_COUNTED = re.compile(r"(\d{1,4})\s*[x×]\s+(\S.*)")
_AT = re.compile(r"\(at line (\d+), column (\d+)\)")
_AT_END = re.compile(r"\(at end of document\)")
_MOST_FITTINGS = 100
#: tomllib takes minutes over a dotted key of thousands of parts; no key of a plan has more than three.
_DOTTED = re.compile(r"(?:[^\s.,=\[\]{}]{1,80}\s?\.\s?){30}")


def read_plan(path) -> model.Plan:
    """Read a plan file.

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
        be built; one error, naming file, key, value and fix.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> read_plan(data_dir() / "plans" / "one-bed.toml").name
    'One bed of herbs'
    """
    file = str(path)
    try:
        with Path(path).open("rb") as stream:
            raw = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise PlanError(file, "", "", "there is no such file", "check the name and the folder") from None
    except IsADirectoryError:
        raise PlanError(file, "", "", "is a folder", "name the plan file inside it") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise PlanError(
            file, "", "", f"cannot be read ({reason})", "check the name and your rights to it"
        ) from None
    if len(raw) > LARGEST_FILE:
        raise PlanError(
            file, "", "", "is over 1 MB, larger than any plan", "name a plan file, which is a few kB of text"
        )
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise PlanError(
            file, f"line {line}", "", "is not text in UTF-8", "save the plan as plain text in UTF-8"
        ) from None
    return plan_from_text(text, file)


def plan_from_text(text: str, name: str = "plan") -> model.Plan:
    """Read a plan from its TOML text; `name` stands in errors as the file.

    Raises
    ------
    PlanError
    """
    if "\x00" in text:
        raise PlanError(name, "", "", "is a binary file", "save the plan as plain text in UTF-8")
    try:
        if _DOTTED.search(text):
            raise RecursionError
        raw = tomllib.loads(text.removeprefix("\ufeff"))
    except RecursionError:
        raise PlanError(
            name, "", "", "is nested too deeply", "write the plan as in data/plan-keys.md"
        ) from None
    except ValueError as error:
        raise _syntax_error(name, text, str(error)) from None
    plan = _Reader(name).plan(raw, text)
    check_plan(plan, name)
    return plan


def _syntax_error(file: str, text: str, message: str) -> PlanError:
    found = _AT.search(message)
    reason = _AT_END.sub("", _AT.sub("", message)).strip().rstrip(".")
    lines = text.splitlines() or [""]
    line, column = (int(found[1]), int(found[2])) if found else (len(lines), len(lines[-1]) + 1)
    given = lines[min(line, len(lines)) - 1].strip()
    return PlanError(
        file,
        f"line {line}, column {column}",
        given,
        f"is not TOML ({reason[:1].lower() + reason[1:]})",
        'write each line as key = "value", with text in quotes on one line',
    )


class _Reader:
    """Reads one file's tables; `file` goes into every error."""

    def __init__(self, file: str):
        self.file = file
        self.tees: dict[str, float] = {}
        self.ends: set[object] = set()

    def fail(self, key: str, value: object, reason: str, fix: str):
        raise PlanError(self.file, key, value, reason, fix)

    def plan(self, raw: dict, text: str) -> model.Plan:
        tops = [t for t in TABLES if "." not in t]
        self.unknown(raw, tops, "", "table")
        found: dict[str, object] = {}
        for path in ("bed", "chamber"):
            if isinstance(raw.get(path), list):
                self.ends |= {str(one.get("name")) for one in raw[path] if isinstance(one, dict)}
        for path in tops:
            table = TABLES[path]
            if path not in raw and table.required:
                brackets = f"[[{path}]]" if table.many else f"[{path}]"
                self.fail(path, "", "is missing", f"add {brackets} to the plan")
            if path == "plan":
                found.update(self.flat("plan", raw["plan"], "plan"))
            elif table.many:
                found[list_field(path)] = self.many(table, raw.get(path, []))
            else:
                found[path] = self.record(path, raw.get(path, {}), path)
            if path == "tee":
                self.tees = {tee.name: tee.elevation for tee in found["tees"]}
        return model.Plan(**found, text=text)

    def many(self, table: Table, raw: object) -> tuple:
        if not isinstance(raw, list) or not all(isinstance(r, dict) for r in raw):
            self.fail(table.path, raw, "is not a list of tables", f"head each with [[{table.path}]]")
        if not raw and table.required:
            self.fail(table.path, "", "is empty", f"add [[{table.path}]] to the plan")
        records = []
        for i, one in enumerate(raw):
            name = one.get(table.named_by)
            place = (
                f"{table.path}.{name}" if isinstance(name, str) and name else f"{table.path} number {i + 1}"
            )
            records.append(self.record(table.path, one, place))
        return tuple(records)

    def record(self, path: str, raw: object, place: str):
        """Read one table and the tables inside it."""
        flat = self.flat(path, raw, place)
        inner = {}
        for name in TABLES[path].inner:
            part = TABLES[f"{path}.{name}"]
            if name in raw:
                inner[name] = self.record(part.path, raw[name], f"{place}.{name}")
            elif part.required:
                self.fail(f"{place}.{name}", "", "is missing", f"add [{path}.{name}] with its keys")
            elif path == "siphon":
                inner[name] = self.record(part.path, {}, f"{place}.{name}")
            else:
                inner[name] = None
        return build(path, flat, **inner)

    def flat(self, path: str, raw: object, place: str) -> dict:
        """Read the keys of one table: {key: SI value}."""
        table = TABLES[path]
        if not isinstance(raw, dict):
            self.fail(place, raw, "is not a table", f"write [{path}] and its keys on the lines below")
        self.unknown(raw, [*(k.name for k in table.keys), *table.inner], place, "key")
        flat: dict[str, object] = {}
        for key in table.keys:
            if key.shapes and flat["shape"] not in key.shapes:
                if key.name in raw:
                    self.fail(
                        f"{place}.{key.name}",
                        raw[key.name],
                        f"does not belong to the shape {flat['shape']}",
                        f"leave it out, or give another shape ({', '.join(key.shapes)})",
                    )
            elif key.name in raw and key.kind != "fittings":
                flat[key.name] = self.value(key, raw[key.name], f"{place}.{key.name}")
            elif key.name not in raw and key.required:
                self.missing(place, key)
            elif key.name not in raw and key.default is not REQUIRED:
                flat[key.name] = key.default_value()
        self.names(path, flat, place)
        flat = self.lookup(path, flat, place) | flat
        for key in table.keys:
            due = not key.shapes or flat["shape"] in key.shapes
            if key.derived and key.name not in flat and due:
                if key.name == "outfall" and flat["to"] not in self.ends:
                    flat[key.name] = 0.0  # wanted only because `to` is no vessel: that is the error to tell
                else:
                    self.missing(place, key)
            if key.kind == "fittings":
                flat[key.name] = self.fittings(raw[key.name], flat["bore"], f"{place}.{key.name}")
        return flat

    def missing(self, place: str, key: Key):
        self.fail(
            f"{place}.{key.name}",
            "",
            f"is missing ({key.meaning.split(';')[0]})",
            f"add {key.name} = {key.example.split(' or ')[0]}",
        )

    def unknown(self, raw: dict, known: list[str], place: str, what: str):
        for name in raw:
            if name not in known:
                near = catalogue.near_matches(name, known)
                self.fail(
                    f"{place}.{name}".lstrip("."),
                    raw[name],
                    f"is no {what} of a plan here",
                    catalogue.suggestion(near, known),
                )

    def names(self, path: str, flat: dict, place: str):
        """Refuse names that a path of an edit could not hold."""
        name = flat.get("name")
        if path == "plan" or name is None:
            return
        if not name or "." in name or "*" in name or name != name.strip() or len(name) > 60:
            self.fail(
                f"{place}.name",
                name,
                "is no usable name",
                'write up to 60 letters, digits and spaces, without "." or "*"',
            )
        if path == "siphon" and name in TABLES["siphon"].inner:
            self.fail(f"{place}.name", name, "is the name of a part", 'call it for example "siphon 1"')

    def lookup(self, path: str, flat: dict, place: str) -> dict:
        """Put the tables' own spelling in `flat`; return the values derived from them."""
        key = "series"
        try:
            if path == "siphon.bell" and not flat["series"]:
                flat["size"] = ""
            elif flat.get("series") and flat["series"].casefold() == catalogue.OWN:
                flat["series"] = catalogue.OWN
            elif "series" in flat:
                flat["series"] = catalogue.sizes(flat["series"])[0].series
                key = "size"
                flat["size"] = catalogue.pipe(flat["series"], flat["size"]).size
            if path == "bed":
                key = "media"
                flat["media"] = catalogue.media(flat["media"]).name
                key = "seal"
                flat["seal"] = catalogue.seal(flat["seal"])
            return derived(path, flat, self.tees)
        except catalogue.CatalogueError as error:
            fix = error.fix
            if key == "series":
                fix += f'; or "{catalogue.OWN}" with bore, outside_diameter and roughness'
            self.fail(f"{place}.{key}", flat[key], "is not in the tables", fix)

    def value(self, key: Key, raw: object, place: str):
        """Read one value by its kind."""
        if key.kind in ("text", "choice"):
            if not isinstance(raw, str):
                self.fail(place, raw, "is not text", f"write it in quotes: {key.name} = {key.example}")
            if key.kind == "choice" and raw not in key.choices:
                self.fail(
                    place,
                    raw,
                    "is not one of the choices",
                    catalogue.suggestion(catalogue.near_matches(raw, key.choices), key.choices),
                )
            return raw
        if key.kind == "count":
            return self.count(raw, place)
        if key.kind == "curve":
            return self.curve(raw, place, key.example)
        if key.kind in ("lengths", "areas"):
            if not isinstance(raw, list) or not 2 <= len(raw) <= 1000:
                self.fail(
                    place, raw, "is not a list of two or more values", f"write {key.name} = {key.example}"
                )
            return tuple(self.number(r, key.kind[:-1], place, zero=True) for r in raw)
        value = self.quantity(raw, key.kind, place, key.example)
        problem = range_problem(key, value)
        if problem:
            self.fail(place, raw, *problem)
        return value

    def quantity(self, raw: object, kind: str, place: str, example: str = "") -> float:
        try:
            return units.read(raw, kind, place)
        except units.UnitError as error:
            fix = error.fix.replace(f'"{units.KINDS[kind].example}"', example) if example else error.fix
            raise PlanError(self.file, place, raw, error.reason, fix) from None
        except OverflowError:
            self.fail(place, raw, "is beyond belief", "check the number")

    def number(self, raw: object, kind: str, place: str, zero: bool = False) -> float:
        """Read a quantity of a list, with the range of its kind."""
        value = self.quantity(raw, kind, place)
        problem = range_problem(Key("", kind, "", "", zero=zero), value)
        if problem:
            self.fail(place, raw, *problem)
        return value

    def count(self, raw: object, place: str) -> int:
        if isinstance(raw, bool) or not isinstance(raw, int):
            self.fail(place, raw, "is not a whole number", "write it without quotes and unit, for example 4")
        if not 1 <= raw <= 10000:
            self.fail(place, raw, "is no usable number", "write a whole number from 1 to 10000")
        return raw

    def curve(self, raw: object, place: str, example: str) -> tuple:
        if not isinstance(raw, list) or not all(isinstance(p, list) and len(p) == 2 for p in raw):
            self.fail(place, raw, "is not a list of [flow, head]", f"write curve = {example}")
        return tuple(
            (self.number(q, "flow", place, zero=True), self.number(h, "distance", place, zero=True))
            for q, h in raw
        )

    def fittings(self, raw: object, bore: float, place: str) -> tuple[model.Fitting, ...]:
        if not isinstance(raw, list):
            self.fail(place, raw, "is not a list", 'write it as ["entrance, square", "2 x bend 45", "exit"]')
        return tuple(self.fitting(one, bore, place) for one in raw)

    def fitting(self, raw: object, bore: float, place: str) -> model.Fitting:
        """Read one fitting: a name, a count and a name, or a table."""
        if isinstance(raw, str):
            counted = _COUNTED.fullmatch(raw.strip())
            raw = {"count": int(counted[1]), "fitting": counted[2]} if counted else {"fitting": raw}
        if not isinstance(raw, dict):
            self.fail(place, raw, "is not a fitting", 'write a name such as "bend 45"')
        self.unknown(raw, ["fitting", "count", "spacing", "k"], place, "key")
        name = raw.get("fitting")
        if not isinstance(name, str) or not name.strip():
            self.fail(place, raw, "names no fitting", 'write {fitting = "my own", k = 0.4}')
        count = self.count(raw.get("count", 1), place)
        if count > _MOST_FITTINGS:
            self.fail(
                place, count, f"is over {_MOST_FITTINGS} fittings of a kind", "write how many there are"
            )
        if "k" in raw:
            if "spacing" in raw:
                self.fail(place, name, "has both k and spacing", "leave one of them out")
            return model.Fitting(name, count, self.number(raw["k"], "number", place, zero=True), given=True)
        try:
            kind = catalogue.fitting(name)
        except catalogue.CatalogueError as error:
            self.fail(
                place,
                name,
                "is not in the table of fittings",
                f'{error.fix} For another, write {{fitting = "my own", k = 0.4}}',
            )
        spacing = 0.0
        if kind.role == "spaced":
            if "spacing" not in raw:
                self.fail(
                    place,
                    name,
                    "needs the spacing of its bends",
                    f'write {{fitting = "{kind.name}", spacing = "60 mm"}}',
                )
            spacing = self.number(raw["spacing"], "length", place)
            low, high = losses.TWO_45_SMOOTH[0][0], losses.TWO_45_SMOOTH[-1][0]
            if not low <= spacing / bore <= high:
                near = f"{math.ceil(low * bore * 1e3)} to {math.floor(high * bore * 1e3)} mm"
                self.fail(
                    place,
                    raw["spacing"],
                    f"is a spacing outside what was measured on this bore ({near})",
                    'give a spacing within it, or write them as "2 x bend 45"',
                )
        elif "spacing" in raw:
            self.fail(
                place, raw["spacing"], f'is a spacing, which "{kind.name}" has not', "leave spacing out"
            )
        return model.Fitting(kind.name, count, fitting_k(kind.name, spacing, bore), spacing)
