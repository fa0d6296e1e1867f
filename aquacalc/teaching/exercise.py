"""The exercises: what is asked, and the equation and values that the answer comes from.

They stand once, in `exercises.toml`. No number of an answer is written down:
it is computed by the equation that the rest of the program uses.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from aquacalc import units
from aquacalc.catalogue import near_matches, suggestion
from aquacalc.equations import RECORDS, Equation

#: Part by which an answer may be off where an exercise does not say otherwise.
TOLERANCE = 0.03


@dataclass(frozen=True)
class Slip:
    """A mistake that is often made: other values (SI) that lead to it, or a choice, and what to say."""

    say: str
    values: dict[str, float]
    choice: str = ""


@dataclass(frozen=True)
class Exercise:
    """One exercise.

    Attributes
    ----------
    key, title : str
    text : str
        The question, with {symbol} where a value stands.
    hint : str
    equation : Equation or None
        None for a choice.
    wanted : str
        Symbol asked for.
    values : dict of str to float
        SI values of the other symbols.
    given : dict of str to str
        The same as they are written.
    tolerance : float
        What part of the right answer an answer may be off.
    choices : dict of str to str
        Letter -> what it stands for; empty for a calculation.
    right : str
        Letter of the right choice.
    why : str
        Why it is right, for the solution.
    slips : tuple of Slip
    picture : str
        Name of a drawing that shows why, in `aquacalc.teaching.pictures`.
    """

    key: str
    title: str
    text: str
    hint: str
    equation: Equation | None
    wanted: str
    values: dict[str, float]
    given: dict[str, str]
    tolerance: float
    choices: dict[str, str]
    right: str
    why: str
    slips: tuple[Slip, ...]
    picture: str = ""

    @property
    def kind(self) -> str:
        """Kind of the quantity asked for, a key of `units.KINDS`; "" for a choice."""
        return self.equation.symbol(self.wanted).kind if self.equation else ""

    def answer(self, **changed: float) -> float:
        """Return the answer in SI, with other SI values where `changed` says so.

        Raises
        ------
        ValueError
            When the equation has no value there.
        """
        return self.equation.solve_for(self.wanted, **{**self.values, **changed}).value

    def question(self, system: str = "metric") -> str:
        """Return the question in the reader's units."""
        return self.text.format_map({key: self.shown(key, system) for key in self.given})

    def shown(self, symbol: str, system: str) -> str:
        """Write a given value in the reader's units; as the exercise has it where it has those."""
        kind = self.equation.symbol(symbol).kind
        if system == "metric" or units.KINDS[kind].dimension == "number":
            return str(self.given[symbol])
        return units.show(self.values[symbol], kind, system)


def exercise(key: str) -> Exercise:
    """Return an exercise.

    Raises
    ------
    KeyError
        Naming what resembles it.
    """
    known = exercises()
    if key not in known:
        near = near_matches(key, known)
        raise KeyError(f'there is no exercise "{key}"; {suggestion(near, tuple(known))}')
    return known[key]


@cache
def exercises() -> dict[str, Exercise]:
    """Return every exercise by its key, in order."""
    return {key: one for name in ("exercises", "beliefs") for key, one in _read(name).items()}


def beliefs() -> dict[str, Exercise]:
    """Return the questions whose wrong choices are what learners often believe, by key, in order."""
    return _read("beliefs")


@cache
def _read(name: str) -> dict[str, Exercise]:
    text = (files("aquacalc.teaching") / f"{name}.toml").read_text(encoding="utf-8")
    return {raw["key"]: _exercise(raw) for raw in tomllib.loads(text)["exercise"]}


def _exercise(raw: dict) -> Exercise:
    equation = RECORDS[raw["equation"]] if "equation" in raw else None
    place = f"exercise {raw['key']}"
    given = {k: str(v) for k, v in raw.get("values", {}).items()}
    values = _values(equation, raw.get("values", {}), place) if equation else {}
    slips = tuple(
        Slip(s["say"], _values(equation, s.get("values", {}), place) if equation else {}, s.get("choice", ""))
        for s in raw.get("slips", [])
    )
    return Exercise(
        key=raw["key"],
        title=raw["title"],
        text=raw["text"].strip(),
        hint=raw.get("hint", ""),
        equation=equation,
        wanted=raw.get("wanted", equation.output.key if equation else ""),
        values=values,
        given=given,
        tolerance=raw.get("tolerance", TOLERANCE),
        choices=raw.get("choices", {}),
        right=raw.get("right", ""),
        why=raw.get("why", ""),
        slips=slips,
        picture=raw.get("picture", ""),
    )


def _values(equation: Equation, raw: dict, place: str) -> dict[str, float]:
    return {k: units.read(v, equation.symbol(k).kind, f"{place}.{k}") for k, v in raw.items()}
