"""SI floats to text with a unit, in metric or US units."""

from __future__ import annotations

import functools
import math
from fractions import Fraction

from aquacalc.units.reading import lookup
from aquacalc.units.table import KINDS, UNITS


@functools.lru_cache(maxsize=512)
def _scale(unit: str) -> tuple[str, float, float]:
    """(dimension, numbers of this unit in one SI unit, offset); the dimension of an unknown unit is ""."""
    found = lookup(unit)
    if found is None:
        return "", 1.0, 0.0
    dimension, size, offset = found
    return dimension, float(1 / size), float(offset)


def in_unit(value, kind: str, system: str = "metric", unit: str | None = None):
    """Convert an SI value to the unit shown.

    Parameters
    ----------
    value : float or numpy array
        In the SI unit of the kind.
    kind : str
    system : {"metric", "us"}
    unit : str, optional
        Another unit of the same dimension.

    Returns
    -------
    tuple of (float or numpy array, str)
        (26.6, "mm").

    Raises
    ------
    KeyError, ValueError
        For an unknown kind or system, and a unit of another dimension.

    Examples
    --------
    >>> in_unit(0.0266, "length", unit="cm")
    (2.66, 'cm')
    """
    what = KINDS[kind]
    if system not in ("metric", "us"):
        raise ValueError(f'system {system!r} is not known; use "metric" or "us"')
    if unit is None:
        unit = what.metric if system == "metric" else what.us
    dimension, scale, offset = _scale(unit)
    if dimension != what.dimension:
        raise ValueError(f'unit "{unit}" does not measure {what.with_article}')
    number = value * scale + offset
    # Fifteen digits: 26.6, where the float alone is 26.599999999999998.
    return (float(f"{number:.15g}") if isinstance(number, float) else number), unit


def _figures(value: float, digits: int) -> str:
    """`value` to `digits` significant digits, whole numbers never rounded away, trailing zeros kept."""
    if value == 0.0:
        return "0"
    power = math.floor(math.log10(abs(value)))
    if power < -4 or power > 9:
        mantissa, _, exponent = f"{value:.{digits - 1}e}".partition("e")
        return f"{mantissa}e{int(exponent)}"
    shown = f"{value:.{max(0, digits - 1 - power)}f}"
    if abs(float(shown)) >= 10.0 ** (power + 1):  # 9.996 rounds up to 10.00: one digit fewer
        shown = f"{value:.{max(0, digits - 2 - power)}f}"
    return shown


def show(
    value: float, kind: str, system: str = "metric", digits: int | None = None, unit: str | None = None
) -> str:
    """Write an SI value with its unit, as a reader wants it.

    Parameters
    ----------
    value : float
        In the SI unit of the kind.
    kind : str
    system : {"metric", "us"}
    digits : int, optional
        Significant digits instead of the kind's own.
    unit : str, optional
        Another unit of the same dimension.

    Returns
    -------
    str
        "26.6 mm", "18.0 L/min", "4 min 10 s"; "no value" for NaN and infinity.

    Examples
    --------
    >>> show(0.0003, "flow")
    '18.0 L/min'
    """
    what = KINDS[kind]
    if not math.isfinite(value):
        return "no value"
    if kind == "time" and unit is None and digits is None and abs(value) >= 119.5:
        return _minutes(value)
    if unit is None and what.large is not None and abs(value) >= what.large[2]:
        unit = what.large[0] if system == "metric" else what.large[1]
    number, unit = in_unit(value, kind, system, unit)
    if what.decimals is not None and digits is None:
        shown = f"{number:.{what.decimals[0 if system == 'metric' else 1]}f}"
        if float(shown) == 0.0:
            shown = shown.lstrip("-")
    else:
        shown = _figures(number, digits or what.digits)
    return f"{shown} {unit}".rstrip()


def typeset(text: str) -> str:
    """Write the minus signs of a text for readers as such; a hyphen within a word stays."""
    return f" {text}".replace(" -", " −")[1:]


def _minutes(value: float) -> str:
    seconds = round(abs(value))
    sign = "-" if value < 0 else ""
    if seconds < 3600:
        return f"{sign}{seconds // 60} min {seconds % 60} s"
    if seconds >= 3 * 86400:
        return f"{sign}{_figures(seconds / 86400, 2)} days"
    minutes = round(seconds / 60)
    return f"{sign}{minutes // 60} h {minutes % 60} min"


def text_of(value: float, unit: str) -> str:
    """Write the shortest text in `unit` that `read` turns back into exactly `value`.

    Parameters
    ----------
    value : float
        In the SI unit of the unit's dimension.
    unit : str

    Returns
    -------
    str
        "26.6 mm"; in the SI unit where no decimal number in `unit` gives the
        value back.

    Raises
    ------
    ValueError
        For a value that is not finite or a unit that is not known.
    """
    found = lookup(unit)
    if found is None:
        raise ValueError(f'unit "{unit}" is not known')
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a finite number")
    dimension, size, offset = found
    exact = Fraction(value) / size + offset
    near = float(exact)
    for digits in range(1, 18):
        text = f"{near:.{digits}g}"
        if float((Fraction(text) - offset) * size) == value:
            return f"{_plain(text)} {unit}".rstrip()
    si = "degC" if dimension == "temperature" else next(iter(UNITS[dimension]))
    return f"{_plain(repr(float(value)))} {si}".rstrip()


def _plain(text: str) -> str:
    """Drop "+" and leading zeros of an exponent, write 1e+03 as 1000 and 20.0 as 20."""
    if "e" in text:
        mantissa, exponent = text.split("e")
        power = int(exponent)
        if 0 <= power <= 15:
            return str(int(Fraction(text))) if Fraction(text).denominator == 1 else text
        return f"{mantissa}e{power}"
    return text[:-2] if text.endswith(".0") else text
