"""The one error of a plan: where, what value, what is wrong, what to write instead."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from aquacalc import units
from aquacalc.plan.model import Plan

#: Faults told at once.
MOST_TOLD = 20
#: Keys that no check holds against another key: a fault in one hides no other.
ALONE = {
    "note", "datum", "units", "water_temperature", "media", "porosity", "bulk_density", "seal",
    "inflow_share", "empty_mass", "supports", "discharge_coefficient", "lip_weir", "lip_orifice", "power",
    "residual", "bed_freeboard", "stop_margin", "strainer_ratio", "floor_load", "roughness", "count",
    "mark", "tested",
}  # fmt: skip


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a plan: `line` of the file (0: not known), key, value, reason, fix."""

    key: str
    value: str
    reason: str
    fix: str
    line: int = 0

    def __str__(self) -> str:
        given = f" = {self.value}" if self.value else ""
        return _one_line(f"{self.key}{given}: {self.reason}. Fix: {self.fix}").removeprefix(": ")


class PlanError(ValueError):
    """A plan that cannot be used as it is written.

    Attributes
    ----------
    file : str
        The plan's file name.
    key : str
        Path of the key: "bed.bed 1.length"; "" when the whole file is meant.
    value : str
        The value as given; "" when there is none.
    reason : str
        What is wrong with it.
    fix : str
        What to write or do instead.
    faults : tuple of Fault
        All that is wrong, in the order of the file; the attributes above are the first one's.
    """

    def __init__(self, file: str, key: str, value: Any, reason: str, fix: str, line: int = 0):
        self._hold(file, (Fault(_short(key), _shown(value), reason, fix, line),))

    @classmethod
    def of(cls, file: str, faults: Iterable[Fault]) -> PlanError:
        """Make one error of several faults."""
        error = cls.__new__(cls)
        error._hold(file, tuple(faults))
        return error

    def _hold(self, file: str, faults: tuple[Fault, ...]):
        self.file, self.faults = str(file), faults
        first = faults[0]
        self.key, self.value, self.reason, self.fix = first.key, first.value, first.reason, first.fix
        if len(faults) == 1:
            text = f"{_one_line(self.file)}{_line(first, ', ')}: {first}"
        else:
            told = [f"  {_line(f, '') + ': ' if f.line else ''}{f}" for f in faults[:MOST_TOLD]]
            more = len(faults) - len(told)
            told += [f"  and {more} more"] if more else []
            text = "\n".join((f"{_one_line(self.file)}: {len(faults)} faults", *told))
        super().__init__(text)

    def as_dict(self) -> dict:
        """Return file, faults (the first twenty) and how many more, for JSON."""
        named = ("line", "key", "value", "reason", "fix")
        told = [{n: getattr(f, n) for n in named} for f in self.faults[:MOST_TOLD]]
        return {"file": self.file, "faults": told, "more": len(self.faults) - len(told)}


def _line(fault: Fault, before: str) -> str:
    return f"{before}line {fault.line}" if fault.line else ""


def _shown(value: Any) -> str:
    """One short line of the value as TOML would have it."""
    if value is None or value == "" or isinstance(value, dict):
        return ""
    if isinstance(value, list) and any(isinstance(v, dict) for v in value):
        return ""
    try:
        text = f'"{value}"' if isinstance(value, str) else str(value)
    except (ValueError, RecursionError):  # a number of thousands of digits, tables nested as deep
        text = "a value too long to show"
    return _short(text)


def _one_line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _short(text: str) -> str:
    text = _one_line(text)
    return text if len(text) <= 80 else text[:77] + "..."


class Checked:
    """A plan under check: its nodes by name, and what is wrong with it so far.

    Attributes
    ----------
    vessels : dict
        Beds and chambers by name.
    tees : dict
        Tees by name.
    hosts : dict
        Siphons by the name of the vessel that each stands in.
    faults : list of Fault
    """

    def __init__(self, plan: Plan, broken: Iterable[str] = ()):
        self.plan = plan
        self.vessels = {v.name: v for v in plan.vessels}
        self.tees = {t.name: t for t in plan.tees}
        self.hosts = {s.host: s for s in plan.siphons}
        self.faults: list[Fault] = []
        self._broken: dict[str, set[str]] = {}
        for key in broken:
            self.breaks(key)

    def breaks(self, key: str) -> None:
        """Remember that the value at `key` cannot be used, so that nothing is held against it."""
        name = key.rpartition(".")[2]
        if name not in ALONE:
            self._broken.setdefault(_record(key), set()).add(name)

    def sound(self, *places: str) -> bool:
        """Whether all that the records at these places are made of can be used: "bed.bed 1", "sump"."""
        return not any(place in self._broken for place in places)

    def lacks(self, *names: str) -> bool:
        """Whether a key of one of these names is broken in any record."""
        return any(name in broken for broken in self._broken.values() for name in names)

    def refuse(self, key: str, value: Any, reason: str, fix: str, kind: str = "length") -> None:
        """Note a fault; a float `value` is shown as the `kind` it is. Nothing is noted of a broken record."""
        if self.sound(_record(key)):
            self.note(key, self.show(value, kind) if isinstance(value, float) else value, reason, fix)

    def note(self, key: str, value: Any, reason: str, fix: str) -> None:
        """Note a fault, whatever else is wrong."""
        self.faults.append(Fault(_short(key), _shown(value), reason, fix))

    def show(self, value: float, kind: str = "length") -> str:
        """Write an SI value in the plan's own units."""
        return units.show(value, kind, self.plan.units if self.plan.units in ("metric", "us") else "metric")

    def level(self, value: float) -> str:
        """Write the elevation `value` (m) in the plan's own units."""
        return self.show(value, "elevation")


def _record(key: str) -> str:
    """Return the record a key belongs to: "bed.bed 1" of "bed.bed 1.strainer.width"."""
    parts = key.split(".")
    many = parts[0] in ("bed", "tee", "run", "chamber", "siphon")
    return ".".join(parts[: 2 if many else 1])
