"""For teaching: exercises that say what went wrong, a learner's copy without answers, a printable handout."""

from aquacalc.workshop.ask import Question, ask, solution
from aquacalc.workshop.check import Reply, check
from aquacalc.workshop.grid import Grid, grid

__all__ = ["Grid", "Question", "Reply", "ask", "check", "grid", "solution"]
