"""What a key and a table of a plan file are, and what values are believed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

from aquacalc import units

#: A key that has no default.
REQUIRED = "required"
#: Kinds that are no quantity: text and so on, and how the document names them.
PLAIN_KINDS = {
    "text": "text",
    "choice": "one of the words listed",
    "count": "whole number",
    "lengths": "list of lengths",
    "areas": "list of areas",
    "fittings": "list of fittings",
    "curve": "list of [flow, head]",
    "legs": "list of legs",
}
#: Smallest and largest value (SI) that is believed, by kind; 0 itself only where the key says so.
BELIEVED = {
    "length": (1.0e-4, 1000.0),
    "distance": (1.0e-3, 1000.0),
    "roughness": (0.0, 0.01),
    "elevation": (-1000.0, 1000.0),
    "area": (1.0e-4, 1.0e6),
    "flow": (1.0e-8, 10.0),
    "mass": (0.0, 1.0e6),
    "density": (0.0, 25000.0),
    "load": (0.0, 1.0e6),
    "power": (0.0, 1.0e6),
    "temperature": (0.0, 60.0),
    "time": (1.0, 30.0 * 86400.0),
    "ratio": (1.0e-4, 1.0),
    "number": (1.0e-4, 1000.0),
    "lip_coefficient": (0.1, 10.0),
}
#: Most characters of a name, and of a note or other longer text.
LONGEST_NAME, LONGEST_TEXT = 60, 2000
#: Largest whole number of a plan, and most fittings of a kind in one place.
MOST, MOST_FITTINGS = 10_000, 100


@dataclass(frozen=True)
class Key:
    """One key of a table.

    Parameters
    ----------
    name : str
        The key as written.
    kind : str
        Key of `units.KINDS` or of `PLAIN_KINDS`.
    meaning : str
    example : str
        A value as written in TOML.
    default : str or int or float or None
        As it would be written in TOML; `REQUIRED`; None when leaving it out
        leaves it out of the plan.
    field : str
        Dotted path in the record of `aquacalc.plan.model`; `name` when empty.
    choices : tuple of str
    zero : bool
        Whether 0 is a value.
    shapes : tuple of str
        Shapes the key belongs to; empty for all.
    derived : str
        Where the value comes from when the key is left out, in words.
    low, high : float or None
        Smallest (0 apart) and largest value believed, when they are not the kind's.
    longest : int
        Most characters of a text.
    reason : str
        Why the value taken for a key left out is the usual one. With it the
        value is assumed, even where it is worked out (`derived`).
    """

    name: str
    kind: str
    meaning: str
    example: str
    default: object = REQUIRED
    field: str = ""
    choices: tuple[str, ...] = ()
    zero: bool = False
    shapes: tuple[str, ...] = ()
    derived: str = ""
    low: float | None = None
    high: float | None = None
    longest: int = LONGEST_NAME
    reason: str = ""

    @property
    def path(self) -> str:
        """Dotted path in the record."""
        return self.field or self.name

    @property
    def required(self) -> bool:
        """Whether the key has to be written."""
        return self.default is REQUIRED and not self.derived

    @cached_property
    def numeric(self) -> bool:
        """Whether the value is one float."""
        return self.kind in units.KINDS

    @cached_property
    def believed(self) -> tuple[float, float]:
        """Smallest and largest value believed, SI."""
        low, high = BELIEVED[self.kind]
        if self.zero and low > 0.0:
            low = 0.0  # what may be nothing may be next to nothing
        return low if self.low is None else self.low, high if self.high is None else self.high

    def default_value(self):
        """Return the default as the record holds it: SI float, int, str or None."""
        if self.default is REQUIRED or self.default is None or not self.numeric:
            return None if self.default is REQUIRED else self.default
        return _si(self.default, self.kind)


@cache
def _si(text, kind: str) -> float:
    return units.read(text, kind)


@dataclass(frozen=True)
class Table:
    """One table of the file.

    `path` as in "siphon.bell"; `many` for [[tables]]; `named_by` its name key; `short` the keys
    that stand for others (`aquacalc.plan.short`); `inner` the names of the tables inside it.
    """

    path: str
    meaning: str
    keys: tuple[Key, ...]
    many: bool = False
    required: bool = True
    named_by: str = ""
    short: tuple[Key, ...] = ()
    inner: tuple[str, ...] = ()

    def key(self, name: str) -> Key | None:
        """Return the key called `name`, or None."""
        return self._by_name.get(name)

    @cached_property
    def _by_name(self) -> dict[str, Key]:
        return {key.name: key for key in self.keys}
