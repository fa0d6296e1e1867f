"""Text to SI floats and back: the only door for units."""

from aquacalc.units.convert import UnitError, in_unit, read, registry, show, si, text_of, unit_of
from aquacalc.units.table import KINDS, UNITS, Kind

__all__ = [
    "KINDS",
    "UNITS",
    "Kind",
    "UnitError",
    "in_unit",
    "read",
    "registry",
    "show",
    "si",
    "text_of",
    "unit_of",
]
