"""Text to SI floats, at the door of the program.

`read` is strict: a bare number where a unit is due is an error that shows the
fix. Inside the program every quantity is a plain float in the SI unit of its
kind (temperature: degC; angle: degree). Numbers are read as exact fractions, so
"26.6 mm" is the float nearest to 0.0266 and "3/4 in" is exact.

The units of the trade are in `aquacalc.units.table`, so that reading a plan
needs no import of pint; any other unit is looked up once in the one pint
registry.
"""

from __future__ import annotations

import functools
import math
import re
from fractions import Fraction

from aquacalc.units.table import KINDS, TABLE, UNITS, Kind


class UnitError(ValueError):
    """A value that cannot be read as the quantity wanted.

    Attributes
    ----------
    place, value, fix : str
        Where the value stands, the value as given, what to write instead.
    reason : str
        What is wrong with it.
    """

    def __init__(self, place: str, value: object, reason: str, fix: str):
        self.place = place
        self.value = value if isinstance(value, str) else repr(value)
        self.reason = reason
        self.fix = fix
        shown = self.value if len(self.value) <= 60 else self.value[:57] + "..."
        quoted = f'"{shown}"' if isinstance(value, str) else shown
        super().__init__(f"{place}: {quoted} {reason}; {fix}")


#: Time as a watch shows it: "3:38", "1:02:03".
_CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,3}):(\d\d(?:\.\d{1,6})?)")
#: Foot and inch marks as they come out of a keyboard or a word processor.
_MARKS_OF_FEET = str.maketrans({"″": '"', "”": '"', "“": '"', "′": "'", "’": "'"})
_NUMBER = re.compile(r"[+-]?(?:\d+[ -]+\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?)")
#: One quantity after another: "3 ft 9 in", "3' 7 1/2\"", "3 min 20 s".
_PARTS = re.compile(rf"({_NUMBER.pattern})\s*([A-Za-z]{{1,7}}|['\"])\s*")
_NAME = r"[A-Za-z°µμ%]\w*[²³]?"
_UNIT_TEXT = re.compile(rf"{_NAME}(?:\s?[/*·]?\s?{_NAME}){{0,3}}")
_PINT_KIND_UNITS = {
    "number": "",
    "angle": "degree",
    "dynamic viscosity": "Pa*s",
    "lip coefficient": "m**0.5/s",
}


@functools.cache
def registry():
    """Return the one pint registry of the program, with the trade's units defined.

    Returns
    -------
    pint.UnitRegistry
        pint's application registry, so that quantities made elsewhere mix.
    """
    import pint

    found = pint.get_application_registry()
    for name, line in {
        "gallon_per_minute": "gallon_per_minute = gallon / minute = gpm",
        "gallon_per_hour": "gallon_per_hour = gallon / hour = gph",
        "metre_water_column": "metre_water_column = 9806.65 pascal = mwc",
        "cubic_foot_per_second": "cubic_foot_per_second = foot ** 3 / second = cfs",
    }.items():
        if name not in found:
            found.define(line)
    return found


def _normal(unit: str) -> str:
    """One spelling for powers and spaces: "mm2", "mm^2" and "mm**2" become "mm²"."""
    unit = " ".join(unit.split())
    unit = re.sub(r"(?<=[A-Za-z])(?:\*\*|\^)?2(?![\w.])", "²", unit)
    return re.sub(r"(?<=[A-Za-z])(?:\*\*|\^)?3(?![\w.])", "³", unit)


@functools.lru_cache(maxsize=512)
def lookup(unit: str) -> tuple[str, Fraction, Fraction] | None:
    """Return (dimension, size, offset) of a unit text, or None when nobody knows it."""
    unit = _normal(unit)
    if unit in TABLE:
        return TABLE[unit]
    # pint evaluates powers of any size, so only plain products reach it.
    if len(unit) > 40 or not _UNIT_TEXT.fullmatch(unit):
        return None
    known = registry()
    try:
        parsed = known.parse_units(unit.replace("·", "*"))
    except Exception:  # pint raises many kinds (tokenizer, attribute, definition) for text it cannot read
        return None
    for dimension, units in UNITS.items():
        si = _PINT_KIND_UNITS.get(dimension, next(iter(units)))
        if known.get_dimensionality(known.parse_units(si)) == parsed.dimensionality:
            if known.convert(0.0, parsed, si) != 0.0:  # offset and logarithmic units
                return None
            size = known.convert(1.0, parsed, si)
            return dimension, Fraction(size).limit_denominator(10**15), Fraction(0)
    return str(parsed.dimensionality), Fraction(1), Fraction(0)


def _number(text: str) -> Fraction:
    """Exact value of "26.6", "3/4", "1 1/2" or "1-1/2"; ZeroDivisionError for "1/0"."""
    if "/" not in text:
        # A float that underflows is 0: keep Fraction from building 10**999.
        return Fraction(text) if float(text) else Fraction(0)
    sign = -1 if text[0] == "-" else 1
    whole, _, part = re.sub(r"[ -]+", " ", text.lstrip("+-")).rpartition(" ")
    return sign * (Fraction(whole or 0) + Fraction(part))


def read(text: object, kind: str, place: str = "value") -> float:
    """Read a value with its unit.

    Parameters
    ----------
    text : str, or int or float for the kinds number, ratio and money
        "26.6 mm", "3/4 in", '1 1/2"', "3 ft 9 in", "18 L/min", "3:38" (time),
        "20 degC", "42 %".
    kind : str
        Key of `KINDS`.
    place : str
        Where the value stands, for the error: "bed.bed 1.length".

    Returns
    -------
    float
        In the SI unit of the kind.

    Raises
    ------
    UnitError
        For a bare number where a unit is due, an unknown unit, a unit of
        another dimension, text that is not a number, a negative value where that
        has no meaning, NaN, and values too large for a float.

    Examples
    --------
    >>> read("26.6 mm", "length")
    0.0266
    """
    wanted = KINDS[kind]
    if hasattr(text, "magnitude") and hasattr(text, "units"):  # a pint quantity
        return _quantity(text, wanted, place)
    fix = f'write it with its unit, for example "{wanted.example}"'
    if wanted.dimension == "number":
        fix = f"write a plain number, for example {wanted.example}"
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitError(place, text, f"is not {wanted.with_article}", fix)
    if not isinstance(text, str):
        if wanted.dimension != "number":
            raise UnitError(place, text, f"is a bare number where {wanted.with_article} is wanted", fix)
        if not math.isfinite(text):
            raise UnitError(place, text, "is not a finite number", fix)
        return _checked(float(text), wanted, place, text, fix)

    given = text.strip().translate(_MARKS_OF_FEET)
    match = _NUMBER.match(given) if len(given) <= 80 else None
    if match is None:
        if given.lower().lstrip("+-").startswith(("nan", "inf")):
            raise UnitError(place, text, "is not a finite number", fix)
        raise UnitError(place, text, "does not begin with a number", fix)
    try:
        parts = _parts(given, wanted)
    except OverflowError:
        raise UnitError(place, text, "is not a finite number", fix) from None
    if parts is not None:
        return _checked(parts, wanted, place, text, fix)
    unit = given[match.end() :].strip()
    if unit.startswith(","):
        raise UnitError(
            place, text, "has a comma in its number", "use a point for decimals and nothing for thousands"
        )
    if not unit and wanted.dimension != "number":
        raise UnitError(place, text, f"is a bare number where {wanted.with_article} is wanted", fix)
    found = lookup(unit)
    if found is None:
        raise UnitError(place, text, f'has a unit "{unit[:40]}" that is not known', fix)
    dimension, size, offset = found
    if dimension != wanted.dimension:
        reason = f'has the unit "{unit}" ({dimension}) where {wanted.with_article} is wanted'
        raise UnitError(place, text, reason, fix)
    try:
        value = float((_number(match.group()) - offset) * size)
    except (ZeroDivisionError, OverflowError):
        raise UnitError(place, text, "is not a finite number", fix) from None
    return _checked(value, wanted, place, text, fix)


def _quantity(quantity, wanted: Kind, place: str) -> float:
    """Value of a pint quantity, of whatever registry, in the SI unit of the kind."""
    fix = f'give it in a unit such as that of "{wanted.example}"'
    given = f"{quantity:~P}"
    unit = _PINT_KIND_UNITS.get(wanted.dimension, next(iter(UNITS[wanted.dimension])))
    try:
        value = float(registry().Quantity(float(quantity.magnitude), str(quantity.units)).to(unit).magnitude)
    except (ValueError, TypeError, AttributeError):
        raise UnitError(place, given, f"is not {wanted.with_article}", fix) from None
    return _checked(value, wanted, place, given, fix)


def si(value: object, kind: str, place: str = "value") -> float:
    """Return a value in SI: text with its unit, a pint quantity, or a number that is in SI already.

    Parameters
    ----------
    value : str, pint.Quantity or float
    kind : str
        Key of `KINDS`.
    place : str
        Where the value is used, for the error.

    Raises
    ------
    UnitError
        As `read`; also for what is no finite number.

    Examples
    --------
    >>> si("26.6 mm", "length"), si(0.0266, "length")
    (0.0266, 0.0266)
    """
    if isinstance(value, str) or hasattr(value, "magnitude"):
        return read(value, kind, place)
    fix = f'give a number in {KINDS[kind].si or "plain figures"}, or text such as "{KINDS[kind].example}"'
    if isinstance(value, bool) or not hasattr(value, "__float__"):
        raise UnitError(place, value, f"is not {KINDS[kind].with_article}", fix)
    if not math.isfinite(value):
        raise UnitError(place, value, "is not a finite number", fix)
    return float(value)


def _parts(given: str, wanted: Kind) -> float | None:
    """Value of "3 ft 9 in" or "3:38"; None for one number and unit, and for parts that do not add up."""
    clock = _CLOCK.fullmatch(given) if wanted.dimension == "time" else None
    if clock:
        hours, minutes, seconds = clock[1] or 0, clock[2], clock[3]
        if float(seconds) < 60.0 and (not clock[1] or int(minutes) < 60):
            return float(int(hours) * 3600 + int(minutes) * 60 + Fraction(seconds))
        return None
    found = _PARTS.findall(given)
    if (
        not 2 <= len(found) <= 3
        or _PARTS.sub("", given)
        or wanted.dimension not in ("length", "time", "mass")
    ):
        return None
    total, smaller = Fraction(0), None
    for number, unit in found:
        dimension, size, _ = lookup(unit) or ("", Fraction(0), None)
        out_of_order = smaller is not None and (size >= smaller or number[0] in "+-")
        if dimension != wanted.dimension or out_of_order or number.endswith("/0"):
            return None
        total, smaller = total + abs(_number(number)) * size, size
    return float(-total if given[0] == "-" else total)


def unit_of(text: str) -> str:
    """Return the unit that a value was written in, "" when it has none; the smallest of "3 ft 9 in".

    Parameters
    ----------
    text : str
        As `read` takes it.

    Examples
    --------
    >>> unit_of("3 ft 9 in"), unit_of('1 1/2"'), unit_of("3:38")
    ('in', 'in', 's')
    """
    given = text.strip().translate(_MARKS_OF_FEET)
    if _CLOCK.fullmatch(given):
        return "s"
    parts = _PARTS.findall(given)
    if len(parts) > 1 and not _PARTS.sub("", given):
        unit = parts[-1][1]
    else:
        match = _NUMBER.match(given)
        unit = given[match.end() :].strip() if match else ""
    return {'"': "in", "'": "ft"}.get(unit, unit)


def _checked(value: float, wanted: Kind, place: str, text: object, fix: str) -> float:
    if value < 0.0 and not wanted.signed:
        raise UnitError(place, text, f"is negative, which {wanted.with_article} cannot be", fix)
    return value
