"""Symbols that many records share."""

from __future__ import annotations

from aquacalc.equations.formulas import GRAVITY
from aquacalc.equations.record import Source, Symbol

g = Symbol(
    "g",
    "g",
    "gravity",
    "acceleration of gravity",
    "acceleration",
    9.76,
    9.84,
    "gravity on the surface of the earth lies between these",
    GRAVITY,
)
_ANY = "sizes of this trade; the formula itself has no end here"

CONTINUITY = Source("conservation of volume", "", "derived")
GEOMETRY = Source("plane and solid geometry", "", "derived")
ENERGY = Source(
    "Bernoulli energy equation with losses",
    "examples of Çengel & Cimbala, Fluid Mechanics, as recomputed by others",
    "read",
)


def bore(
    key="D", latex="D", name="bore", meaning="inside diameter of the pipe", low=0.005, high=0.3, why=_ANY
):
    """Return a pipe bore."""
    return Symbol(key, latex, name, meaning, "length", low, high, why)


def flow(key="Q", latex="Q", name="flow", meaning="volume of water a second", low=1e-7, high=0.1, why=_ANY):
    """Return a flow of water."""
    return Symbol(key, latex, name, meaning, "flow", low, high, why)


def area(key="A", latex="A", name="area", meaning="area of flow", kind="opening_area", low=1e-6, high=1.0):
    """Return an area."""
    return Symbol(key, latex, name, meaning, kind, low, high, _ANY)


def size(key, latex, name, meaning, kind, low, high, why=_ANY, default=None):
    """Return any other quantity; `why` speaks of the trade's sizes unless the source sets the range."""
    return Symbol(key, latex, name, meaning, kind, low, high, why, default)


def velocity(key="v", latex="v", name="velocity", meaning="mean velocity in the pipe"):
    """Return a mean velocity."""
    return Symbol(key, latex, name, meaning, "velocity", 1e-4, 20.0, _ANY)


def head(key="H", latex="H", name="head", meaning="difference of water levels", low=1e-6, high=100.0):
    """Return a head."""
    return Symbol(key, latex, name, meaning, "head", low, high, _ANY)


def loss(
    key="K", latex="K", name="loss coefficient", meaning="summed loss coefficients", low=-1.0, high=1000.0
):
    """Return a loss coefficient."""
    return Symbol(key, latex, name, meaning, "number", low, high, _ANY)


def friction(key="f", latex="f"):
    """Return the Darcy friction factor."""
    why = "smooth pipe at Re 1e8 to laminar flow at Re 64"
    return Symbol(key, latex, "friction factor", "Darcy friction factor", "number", 0.005, 1.0, why)


discharge_coefficient = size(
    "C_d",
    "C_d",
    "discharge coefficient",
    "share of the ideal flow that passes",
    "number",
    0.4,
    0.82,
    "ragged drilled plastic has the lowest, a short tube the highest",
    0.60,
)
water_density = size("rho", r"\rho", "density", "density of water", "density", 950.0, 1030.0, "water", 998.2)
vapour_pressure = size(
    "p_v",
    "p_v",
    "vapour pressure",
    "pressure at which the water boils",
    "pressure",
    611.0,
    20000.0,
    "liquid water from 0 to 60 degC",
)
porosity = size(
    "phi",
    r"\phi",
    "porosity",
    "share of the media that drains",
    "ratio",
    0.2,
    0.7,
    "gravel, expanded clay and scoria lie inside; a bucket test is the better value",
)
