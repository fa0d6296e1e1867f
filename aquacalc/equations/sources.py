"""Sources that several topics share."""

from __future__ import annotations

from aquacalc.equations.record import Source

CONTINUITY = Source("conservation of volume", "", "derived")
GEOMETRY = Source("plane and solid geometry", "", "derived")
ENERGY = Source(
    "Bernoulli energy equation with losses",
    "examples of Çengel & Cimbala, Fluid Mechanics, as recomputed by others",
    "read",
)
