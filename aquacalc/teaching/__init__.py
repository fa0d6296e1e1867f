"""For teaching: exercises that say what went wrong, a learner's copy without answers, a printable handout."""

from __future__ import annotations

from aquacalc.face import lazily

_WHERE = {
    "Question": "asking",
    "ask": "asking",
    "solution": "asking",
    "FaultHunt": "fault",
    "calibration": "fault",
    "hunts": "fault",
    "mistaken": "fault",
    "ScoreForm": "score",
    "formula_sheet": "asking",
    "Reply": "checking",
    "check": "checking",
    "guess": "guessing",
    "guesses": "guessing",
}

__all__ = sorted(_WHERE)
__getattr__, __dir__ = lazily(__name__, _WHERE)
