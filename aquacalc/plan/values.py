"""One value of a plan file: text or number as TOML has it, to what the record holds."""

from __future__ import annotations

import math
import re
from typing import Any, NoReturn

from aquacalc import catalogue, units
from aquacalc.equations import losses
from aquacalc.plan import legs, model
from aquacalc.plan.check import range_problem, word_problem
from aquacalc.plan.errors import PlanError
from aquacalc.plan.key import MOST_FITTINGS, Key
from aquacalc.plan.records import fitting_k

FITTING_KEYS = ("fitting", "count", "spacing", "k")
_COUNTED = re.compile(r"(\d{1,4})\s*[x×]\s+(\S.*)")


class Values:
    """Reads the values of one file; `file` goes into every error."""

    def __init__(self, file: str):
        self.file = file

    def fail(self, key: str, value: Any, reason: str, fix: str) -> NoReturn:
        """Raise the one error of a value."""
        raise PlanError(self.file, key, value, reason, fix)

    def value(self, key: Key, raw: Any, place: str):
        """Read one value by its kind."""
        if key.kind in ("text", "choice"):
            if not isinstance(raw, str):
                self.fail(place, raw, "is not text", f"write it in quotes: {key.name} = {key.example}")
            problem = word_problem(key, raw)
            if problem:
                self.fail(place, raw, *problem)
            return raw
        if key.kind == "count":
            return self.count(raw, place)
        if key.kind == "legs":
            return self.legs(raw, place, key.example)
        if key.kind == "curve":
            return self.curve(raw, place, key.example)
        if key.kind in ("lengths", "areas"):
            least = 2 if key.required else 1
            if not isinstance(raw, list) or not least <= len(raw) <= 1000:
                what = "is not a list of two or more values" if least == 2 else "is not a list of values"
                self.fail(place, raw, what, f"write {key.name} = {key.example}")
            return tuple(self.number(r, key.kind[:-1], place, zero=True) for r in raw)
        value = self.quantity(raw, key.kind, place, key.example)
        problem = range_problem(key, value)
        if problem:
            self.fail(place, raw, *problem)
        return value

    def quantity(self, raw: Any, kind: str, place: str, example: str = "") -> float:
        """Read a quantity; its unit is due."""
        try:
            return units.read(raw, kind, place)
        except units.UnitError as error:
            fix = error.fix.replace(f'"{units.KINDS[kind].example}"', example) if example else error.fix
            raise PlanError(self.file, place, raw, error.reason, fix) from None
        except OverflowError:
            self.fail(place, raw, "cannot be right", "check the number")

    def number(self, raw: Any, kind: str, place: str, zero: bool = False) -> float:
        """Read a quantity of a list, with the range of its kind."""
        value = self.quantity(raw, kind, place)
        problem = range_problem(Key("", kind, "", "", zero=zero), value)
        if problem:
            self.fail(place, raw, *problem)
        return value

    def count(self, raw: Any, place: str) -> int:
        """Read a whole number."""
        if isinstance(raw, bool) or not isinstance(raw, int):
            self.fail(place, raw, "is not a whole number", "write it without quotes and unit, for example 4")
        problem = word_problem(Key("", "count", "", ""), raw)
        if problem:
            self.fail(place, raw, *problem)
        return raw

    def legs(self, raw: Any, place: str, example: str) -> tuple[model.Leg, ...]:
        """Read the legs of a way."""
        fix = f"write legs = {example}"
        if not isinstance(raw, list) or not 1 <= len(raw) <= MOST_FITTINGS:
            self.fail(place, raw, "is not a list of legs", fix)
        found = []
        for one in raw:
            if not isinstance(one, str):
                self.fail(place, one, "is not a leg", fix)
            try:
                found.append(legs.read_leg(one))
            except ValueError as error:
                self.fail(place, one, "is not a leg", str(error))
        return tuple(found)

    def curve(self, raw: Any, place: str, example: str) -> tuple:
        """Read points of [flow, head]."""
        if not isinstance(raw, list) or not all(isinstance(p, list) and len(p) == 2 for p in raw):
            self.fail(place, raw, "is not a list of [flow, head]", f"write curve = {example}")
        return tuple(
            (self.number(q, "flow", place, zero=True), self.number(h, "distance", place, zero=True))
            for q, h in raw
        )

    def fittings(self, raw: Any, bore: float, place: str) -> tuple[model.Fitting, ...]:
        """Read a list of fittings on a pipe of this `bore` (m)."""
        if not isinstance(raw, list) or len(raw) > MOST_FITTINGS:
            self.fail(place, raw, "is not a list", 'write it as ["entrance, square", "2 x bend 45", "exit"]')
        return tuple(self.fitting(one, bore, place) for one in raw)

    def fitting(self, raw: Any, bore: float, place: str) -> model.Fitting:
        """Read one fitting on a pipe of this `bore` (m): a name, a count and a name, or a table."""
        if isinstance(raw, str):
            counted = _COUNTED.fullmatch(raw.strip())
            raw = {"count": int(counted[1]), "fitting": counted[2]} if counted else {"fitting": raw}
        if not isinstance(raw, dict):
            self.fail(place, raw, "is not a fitting", 'write a name such as "bend 45"')
        for name in raw:
            if name not in FITTING_KEYS:
                near = catalogue.near_matches(name, FITTING_KEYS)
                fix = catalogue.suggestion(near, FITTING_KEYS)
                self.fail(f"{place}.{name}", raw[name], "is not a key of a fitting", fix)
        name = raw.get("fitting")
        if not isinstance(name, str) or not name.strip():
            self.fail(place, raw, "names no fitting", 'write {fitting = "my own", k = 0.4}')
        problem = word_problem(Key("fitting", "text", "", ""), name)
        if problem:
            self.fail(place, name, *problem)
        count = self.count(raw.get("count", 1), place)
        if count > MOST_FITTINGS:
            self.fail(place, count, f"is over {MOST_FITTINGS} fittings of a kind", "write how many there are")
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
                span = f"{math.ceil(low * bore * 1e3)} to {math.floor(high * bore * 1e3)} mm"
                self.fail(
                    place,
                    raw["spacing"],
                    f"is a spacing outside what was measured on this bore ({span})",
                    'give a spacing within it, or write them as "2 x bend 45"',
                )
        elif "spacing" in raw:
            self.fail(
                place, raw["spacing"], f'is a spacing, which "{kind.name}" does not have', "leave spacing out"
            )
        return model.Fitting(kind.name, count, fitting_k(kind.name, spacing, bore), spacing)
