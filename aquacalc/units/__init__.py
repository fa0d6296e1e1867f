"""Text to SI floats and back: the only door for units."""

from aquacalc.units.reading import UnitError, read, registry, si, unit_of
from aquacalc.units.showing import in_unit, show, text_of, typeset
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
    "typeset",
    "unit_of",
]
