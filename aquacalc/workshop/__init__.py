"""For teaching: exercises that say what went wrong, a learner's copy without answers, a printable handout."""

from aquacalc.workshop.ask import Question, ask, solution
from aquacalc.workshop.check import Reply, check
from aquacalc.workshop.grid import Grid, grid
from aquacalc.workshop.listed import Listed, sentences, steps
from aquacalc.workshop.shown import Shown, shown

__all__ = [
    "Grid",
    "Listed",
    "Question",
    "Reply",
    "Shown",
    "ask",
    "check",
    "grid",
    "sentences",
    "shown",
    "solution",
    "steps",
]
