"""The insides of vessels: one file for each shape, and nothing elsewhere asks which shape it is."""

from __future__ import annotations

from aquacalc.plan.shapes.half_drum import HalfDrum
from aquacalc.plan.shapes.oval import Oval
from aquacalc.plan.shapes.rectangular import Rectangular
from aquacalc.plan.shapes.round import Round
from aquacalc.plan.shapes.shape import Problem, Shape
from aquacalc.plan.shapes.table import Table
from aquacalc.plan.shapes.tapered import Tapered

__all__ = [
    "SHAPES",
    "HalfDrum",
    "Oval",
    "Problem",
    "Rectangular",
    "Round",
    "Shape",
    "Table",
    "Tapered",
    "make",
]

#: The shapes by the word that a plan has for them.
SHAPES: dict[str, type[Shape]] = {
    shape.kind: shape for shape in (Rectangular, Tapered, Round, Oval, HalfDrum, Table)
}


def make(kind: str, **sizes) -> Shape:
    """Return the shape of a `kind` with its `sizes`, SI; sizes of other shapes are left out.

    Examples
    --------
    >>> make("round", depth=0.5, diameter=0.9).area(0.0)
    0.6361725123519332
    """
    shape = SHAPES[kind]
    return shape(**{name: value for name, value in sizes.items() if name in shape.__dataclass_fields__})
