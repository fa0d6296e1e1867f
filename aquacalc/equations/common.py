"""Symbols that many records share."""

from __future__ import annotations

from functools import partial

from aquacalc.equations.formulas import GRAVITY
from aquacalc.equations.record import Source, Symbol

g = Symbol(
    key="g",
    name="gravity",
    meaning="acceleration of gravity",
    kind="acceleration",
    low=9.76,
    high=9.84,
    why="gravity on the surface of the earth lies between these",
    default=GRAVITY,
)
_ANY = "sizes of this trade; the formula itself has no end here"

CONTINUITY = Source("conservation of volume", "", "derived")
GEOMETRY = Source("plane and solid geometry", "", "derived")
ENERGY = Source(
    "Bernoulli energy equation with losses",
    "examples of Çengel & Cimbala, Fluid Mechanics, as recomputed by others",
    "read",
)


# Symbols that many records have in the same words; what a record says replaces them.
size = partial(Symbol, why=_ANY)
bore = partial(
    size, key="D", name="bore", meaning="inside diameter of the pipe", kind="length", low=0.005, high=0.3
)
flow = partial(
    size, key="Q", name="flow", meaning="volume of water a second", kind="flow", low=1e-7, high=0.1
)
area = partial(size, key="A", name="area", meaning="area of flow", kind="opening_area", low=1e-6, high=1.0)
velocity = partial(
    size, key="v", name="velocity", meaning="mean velocity in the pipe", kind="velocity", low=1e-4, high=20.0
)
head = partial(
    size, key="H", name="head", meaning="difference of water levels", kind="head", low=1e-6, high=100.0
)
loss = partial(
    size,
    key="K",
    name="loss coefficient",
    meaning="summed loss coefficients",
    kind="number",
    low=-1.0,
    high=1000.0,
)
friction = Symbol(
    key="f",
    name="friction factor",
    meaning="Darcy friction factor",
    kind="number",
    low=0.005,
    high=1.0,
    why="smooth pipe at Re 1e8 to laminar flow at Re 64",
)


discharge_coefficient = size(
    key="C_d",
    name="discharge coefficient",
    meaning="share of the ideal flow that passes",
    kind="number",
    low=0.4,
    high=0.82,
    why="ragged drilled plastic has the lowest, a short tube the highest",
    default=0.60,
)
water_density = size(
    key="rho",
    name="density",
    meaning="density of water",
    kind="density",
    low=950.0,
    high=1030.0,
    why="water",
    default=998.2,
)
vapour_pressure = size(
    key="p_v",
    name="vapour pressure",
    meaning="pressure at which the water boils",
    kind="pressure",
    low=611.0,
    high=20000.0,
    why="liquid water from 0 to 60 degC",
)
porosity = size(
    key="phi",
    name="porosity",
    meaning="share of the media that drains",
    kind="ratio",
    low=0.2,
    high=0.7,
    why="gravel, expanded clay and scoria lie inside; a bucket test is the better value",
)
