"""For teaching: exercises that say what went wrong, a learner's copy without answers, a printable handout."""

from aquacalc.teaching.ask import Question, ask, solution
from aquacalc.teaching.check import Reply, check
from aquacalc.teaching.guessing import guess, guesses

__all__ = ["Question", "Reply", "ask", "check", "guess", "guesses", "solution"]
