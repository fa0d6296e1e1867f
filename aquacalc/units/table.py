"""Kinds of quantity, how each is shown, and the units of the trade as exact sizes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Kind:
    """A kind of quantity and how it is shown.

    Parameters
    ----------
    name : str
    dimension : str
        Kinds of one dimension read the same units.
    si, metric, us : str
        Unit of the floats inside, and the units shown in the two systems.
    example : str
        Value shown as the fix of an error.
    digits : int
        Significant digits shown.
    decimals : tuple of int, optional
        Fixed decimals (metric, us) instead of significant digits.
    signed : bool
        Whether a negative value has meaning.
    large : tuple of (str, str, float), optional
        Units (metric, us) shown instead from this SI value upwards.
    """

    name: str
    dimension: str
    si: str
    metric: str
    us: str
    example: str
    digits: int = 3
    decimals: tuple[int, int] | None = None
    signed: bool = False
    large: tuple[str, str, float] | None = None

    @property
    def with_article(self) -> str:
        """The kind as it stands in a sentence: "a length", "an area"."""
        name = self.name.replace("_", " ")
        return ("an " if name[0] in "aeiou" else "a ") + name


KINDS: dict[str, Kind] = {
    k.name: k
    for k in (
        Kind("length", "length", "m", "mm", "in", "26.6 mm"),
        Kind("elevation", "length", "m", "m", "in", "0.62 m", decimals=(3, 1), signed=True),
        Kind("distance", "length", "m", "m", "ft", "1.2 m"),
        Kind("head", "length", "m", "mm", "in", "120 mm", signed=True, large=("m", "ft", 1.0)),
        Kind("roughness", "length", "m", "mm", "in", "0.0015 mm"),
        Kind("area", "area", "m²", "m²", "ft²", "1.2 m²"),
        Kind("opening_area", "area", "m²", "cm²", "in²", "12 cm²"),
        Kind("volume", "volume", "m³", "L", "gal", "200 L"),
        Kind("flow", "flow", "m³/s", "L/min", "gpm", "18 L/min"),
        Kind("velocity", "velocity", "m/s", "m/s", "ft/s", "1.2 m/s"),
        Kind("acceleration", "acceleration", "m/s²", "m/s²", "ft/s²", "9.81 m/s²"),
        Kind("time", "time", "s", "s", "s", "12 min"),
        Kind("temperature", "temperature", "degC", "degC", "degF", "20 degC", signed=True),
        Kind("mass", "mass", "kg", "kg", "lb", "12 kg"),
        Kind("density", "density", "kg/m³", "kg/m³", "lb/ft³", "450 kg/m³", 4),
        Kind("load", "load", "kg/m²", "kg/m²", "lb/ft²", "400 kg/m²"),
        Kind("pressure", "pressure", "Pa", "kPa", "psi", "20 kPa", signed=True),
        Kind("power", "power", "W", "W", "W", "45 W"),
        Kind("energy", "energy", "J", "kWh", "kWh", "12 kWh"),
        Kind("viscosity", "viscosity", "m²/s", "mm²/s", "mm²/s", "1.0 mm²/s", 4),
        Kind("dynamic_viscosity", "dynamic viscosity", "Pa s", "mPa s", "mPa s", "1.0 mPa s", 4),
        Kind("lip_coefficient", "lip coefficient", "m^0.5/s", "m^0.5/s", "ft^0.5/s", "1.71 m^0.5/s"),
        Kind("curve_factor", "curve factor", "s²/m⁵", "s²/m⁵", "ft/gpm²", "4e6 s²/m⁵"),
        Kind("angle", "angle", "deg", "deg", "deg", "45 deg"),
        Kind("rotation", "frequency", "1/s", "rpm", "rpm", "1450 rpm", 4),
        Kind("frequency", "frequency", "1/s", "per hour", "per hour", "2 per hour"),
        Kind("number", "number", "", "", "", "0.6", signed=True),
        Kind("ratio", "number", "", "", "", '0.42 or "42 %"'),
        Kind("money", "number", "", "", "", "12.50", decimals=(2, 2)),
    )
}

_IN = Fraction(254, 10000)
_FT = 12 * _IN
_LB = Fraction(45359237, 100000000)
_GAL = 231 * _IN**3
_L = Fraction(1, 1000)
_G0 = Fraction(980665, 100000)

#: dimension -> {unit text: exact size in the SI unit of the dimension}. The
#: first of several texts for one unit is the one printed.
UNITS: dict[str, dict[str, Fraction]] = {
    "length": {
        "m": Fraction(1), "mm": Fraction(1, 1000), "cm": Fraction(1, 100),
        "in": _IN, "inch": _IN, "inches": _IN, '"': _IN, "ft": _FT, "feet": _FT, "foot": _FT, "'": _FT,
    },
    "area": {
        "m²": Fraction(1), "cm²": Fraction(1, 10**4), "mm²": Fraction(1, 10**6), "in²": _IN**2, "ft²": _FT**2,
    },
    "volume": {
        "m³": Fraction(1), "L": _L, "l": _L, "litre": _L, "litres": _L, "liter": _L, "liters": _L,
        "mL": _L / 1000, "ml": _L / 1000, "cm³": _L / 1000, "ft³": _FT**3, "in³": _IN**3,
        "gal": _GAL, "US gal": _GAL, "gallon": _GAL, "gallons": _GAL, "US gallon": _GAL, "US gallons": _GAL,
    },
    "flow": {
        "m³/s": Fraction(1), "L/min": _L / 60, "l/min": _L / 60, "L/s": _L, "L/h": _L / 3600,
        "lpm": _L / 60, "LPM": _L / 60, "lph": _L / 3600, "LPH": _L / 3600,
        "l/h": _L / 3600, "m³/h": Fraction(1, 3600), "gpm": _GAL / 60, "GPM": _GAL / 60, "US gpm": _GAL / 60,
        "gal/min": _GAL / 60, "gph": _GAL / 3600, "GPH": _GAL / 3600, "gal/h": _GAL / 3600,
        "cfs": _FT**3, "ft³/s": _FT**3,
    },
    "velocity": {"m/s": Fraction(1), "mm/s": Fraction(1, 1000), "ft/s": _FT},
    "acceleration": {"m/s²": Fraction(1), "ft/s²": _FT},
    "time": {
        "s": Fraction(1), "min": Fraction(60), "h": Fraction(3600), "day": Fraction(86400),
        "sec": Fraction(1), "seconds": Fraction(1), "minutes": Fraction(60), "hour": Fraction(3600),
        "hours": Fraction(3600),
        "days": Fraction(86400),
    },
    "mass": {"kg": Fraction(1), "g": Fraction(1, 1000), "lb": _LB, "lbs": _LB, "oz": _LB / 16},
    "density": {
        "kg/m³": Fraction(1), "g/cm³": Fraction(1000), "kg/L": Fraction(1000), "lb/ft³": _LB / _FT**3,
    },
    "load": {"kg/m²": Fraction(1), "lb/ft²": _LB / _FT**2},
    "pressure": {
        "Pa": Fraction(1), "kPa": Fraction(1000), "bar": Fraction(10**5), "mbar": Fraction(100),
        "psi": _LB * _G0 / _IN**2,
    },
    "power": {"W": Fraction(1), "kW": Fraction(1000)},
    "energy": {"J": Fraction(1), "kWh": Fraction(3600000), "Wh": Fraction(3600)},
    "viscosity": {"m²/s": Fraction(1), "mm²/s": Fraction(1, 10**6), "cSt": Fraction(1, 10**6)},
    "dynamic viscosity": {"Pa s": Fraction(1), "mPa s": Fraction(1, 1000), "cP": Fraction(1, 1000)},
    "lip coefficient": {"m^0.5/s": Fraction(1), "ft^0.5/s": Fraction(math.sqrt(0.3048))},
    "curve factor": {"s²/m⁵": Fraction(1), "ft/gpm²": _FT / (_GAL / 60) ** 2},
    "angle": {"deg": Fraction(1), "°": Fraction(1)},
    "frequency": {
        "1/s": Fraction(1), "per hour": Fraction(1, 3600), "1/h": Fraction(1, 3600), "/h": Fraction(1, 3600),
        "rpm": Fraction(1, 60), "per day": Fraction(1, 86400),
    },
    "number": {"": Fraction(1), "%": Fraction(1, 100)},
}  # fmt: skip

#: Temperatures have an offset: degC = (reading - offset) * size.
_TEMPERATURES: dict[str, tuple[Fraction, Fraction]] = {
    "degC": (Fraction(1), Fraction(0)),
    "°C": (Fraction(1), Fraction(0)),
    "degF": (Fraction(5, 9), Fraction(32)),
    "°F": (Fraction(5, 9), Fraction(32)),
    "K": (Fraction(1), Fraction(27315, 100)),
}

TABLE: dict[str, tuple[str, Fraction, Fraction]] = {
    text: (dimension, size, Fraction(0)) for dimension, units in UNITS.items() for text, size in units.items()
} | {text: ("temperature", *pair) for text, pair in _TEMPERATURES.items()}
