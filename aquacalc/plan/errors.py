"""The one error of a plan: where, what value, what is wrong, what to write instead."""

from __future__ import annotations

from typing import NoReturn

from aquacalc import units
from aquacalc.plan.model import Plan


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
    """

    def __init__(self, file: str, key: str, value: object, reason: str, fix: str):
        self.file = str(file)
        self.key = _short(key)
        self.value = _shown(value)
        self.reason = reason
        self.fix = fix
        place = f"{self.file}: {self.key}" if key else self.file
        given = f" = {self.value}" if self.value else ""
        super().__init__(_one_line(f"{place}{given}: {reason}. Fix: {fix}"))


def _shown(value: object) -> str:
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
    """A plan under check: its nodes by name, and how to refuse it.

    Attributes
    ----------
    vessels : dict
        Beds and chambers by name.
    tees : dict
        Tees by name.
    hosts : dict
        Siphons by the name of the vessel that each stands in.
    """

    def __init__(self, plan: Plan, file: str):
        self.plan = plan
        self.file = file
        self.vessels = {v.name: v for v in (*plan.beds, *plan.chambers)}
        self.tees = {t.name: t for t in plan.tees}
        self.hosts = {s.host: s for s in plan.siphons}

    def refuse(self, key: str, value: object, reason: str, fix: str, kind: str = "length") -> NoReturn:
        """Raise the PlanError; a float `value` is shown as the `kind` it is."""
        raise PlanError(
            self.file, key, self.show(value, kind) if isinstance(value, float) else value, reason, fix
        )

    def show(self, value: float, kind: str = "length") -> str:
        """Write an SI value in the plan's own units."""
        return units.show(value, kind, self.plan.units)

    def level(self, value: float) -> str:
        """Write the elevation `value` (m) in the plan's own units."""
        return self.show(value, "elevation")
