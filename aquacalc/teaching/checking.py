"""Check a learner's answer and say what went wrong: a unit, a power of ten, a diameter, a rounding."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import dataclass

from aquacalc import units
from aquacalc.teaching.exercise import Exercise, exercise

#: Within this part of the answer the method is taken for right and the arithmetic for rounded.
CLOSE = 0.06
#: An answer given with more significant digits than this gets a word about digits.
DIGITS = 4
#: Names of sizes that are given as a diameter and easily taken for a radius.
_ACROSS = ("bore", "diameter", "hole")
#: What may follow a number that has no unit: "2.05 x", "2.05 times".
_TIMES = re.compile(r"\s*(x|×|times)\s*$", re.IGNORECASE)
_LEADING = re.compile(r"[+-]?\s*(\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
#: Ratios of units: factor -> (dimensions it belongs to, what was taken for what).
_RATIOS = (
    (60.0, ("flow", "time", "velocity", "frequency"), "minutes were taken for seconds, or the other way"),
    (3600.0, ("flow", "time", "velocity", "frequency"), "hours were taken for seconds, or the other way"),
    (3.785411784, ("volume", "flow"), "US gallons were taken for litres, or the other way"),
    (25.4, ("length",), "inches were taken for millimetres, or the other way"),
    (12.0, ("length",), "feet were taken for inches, or the other way"),
    (645.16, ("area",), "square inches were taken for square millimetres, or the other way"),
    (6.4516, ("area",), "square inches were taken for square centimetres, or the other way"),
)


@dataclass(frozen=True)
class Reply:
    """What is said to an answer.

    Attributes
    ----------
    verdict : {"none", "right", "close", "wrong"}
    said : str
        One or two sentences in plain words.
    slip : str
        Kind of mistake, for tests and teachers: "unit", "power of ten"; "" for none.
    """

    verdict: str
    said: str
    slip: str = ""

    @property
    def right(self) -> bool:
        """Whether the answer counts."""
        return self.verdict == "right"

    def __str__(self) -> str:
        return self.said

    __repr__ = __str__


def check(key: str, given: str) -> Reply:
    """Check an answer.

    Parameters
    ----------
    key : str
        Key of the exercise.
    given : str
        "21 cm²", or a letter for a choice.

    Returns
    -------
    Reply

    Raises
    ------
    KeyError
        When there is no such exercise.
    """
    asked = exercise(key)
    text = str(given).strip()
    if asked.choices:
        return _check_choice(asked, text)
    return _check_number(asked, text)


def _check_choice(asked: Exercise, text: str) -> Reply:
    letters = ", ".join(asked.choices)
    if not text:
        return Reply("none", f"No answer yet. Write one of {letters}.")
    letter = text.lower().strip(" ().")
    if letter not in asked.choices:
        return Reply("wrong", f'"{text[:40]}" is none of {letters}.', "no choice")
    if letter == asked.right:
        return Reply("right", f"Right. {asked.why}")
    said = next((s.say for s in asked.slips if s.choice == letter), "")
    return Reply("wrong", f"No. {said}".strip(), "choice")


def _check_number(asked: Exercise, text: str) -> Reply:
    kind = units.KINDS[asked.kind]
    answer = asked.answer()
    if kind.dimension == "number":
        text = _TIMES.sub("", text)
    if not text:
        if kind.dimension == "number":
            return Reply("none", "No answer yet. Write a plain number.")
        return Reply("none", f"No answer yet. Write a number and its unit, in {_examples(kind)} for example.")
    try:
        value = units.read(text, asked.kind)
    except units.UnitError:
        return _unread(asked, text, answer)
    off = abs(value - answer) / abs(answer)
    if off <= asked.tolerance:
        return Reply("right", "Right." + _too_many_digits(text))
    return (
        _sign(asked, value, answer)
        or _named_slip(asked, value)
        or _rounding(off)
        or _unit_ratio(asked, value, answer)
        or _input_slip(asked, value)
        or _lost(asked, value, answer)
    )


def _examples(kind: units.Kind) -> str:
    return "s or min" if kind.dimension == "time" else f"{kind.metric} or {kind.us}"


def _unread(asked: Exercise, text: str, answer: float) -> Reply:
    """Say why an answer cannot be read, and whether its number at least is right."""
    kind = units.KINDS[asked.kind]
    example = _examples(kind)
    match = _LEADING.match(text)
    if match is None:
        return Reply("wrong", f'"{text[:40]}" does not begin with a number.', "not a number")
    number, unit = float(match.group().replace(" ", "")), text[match.end() :].strip()
    if unit.startswith(","):
        return Reply("wrong", "Use a point for decimals and nothing for thousands.", "comma")
    if number < 0.0 and not kind.signed and unit and _measures(unit, asked):
        size = "The size is right, but this" if _is(-number, answer, unit, asked) else "This"
        return Reply("wrong", f"{size} quantity is never negative: drop the sign.", "sign")
    fits = any(_is(number, answer, u, asked) for u in units.UNITS[kind.dimension])
    if not unit:
        said = "The number is right in one unit, but which?" if fits else "Which unit is that in?"
        return Reply("wrong", f"{said} Write the unit too, {example} for example.", "no unit")
    said = f'"{unit[:20]}" does not measure what is asked for: that is counted in {example}.'
    if fits:
        said += " The number itself is right in one of those."
    return Reply("wrong", said, "unit")


def _measures(unit: str, asked: Exercise) -> bool:
    """Whether `unit` measures what is asked for."""
    try:
        units.in_unit(1.0, asked.kind, unit=unit)
    except ValueError:
        return False
    return True


def _is(number: float, answer: float, unit: str, asked: Exercise) -> bool:
    """Whether a number in `unit` is the answer."""
    if not _measures(unit, asked):
        return False
    value, _ = units.in_unit(answer, asked.kind, unit=unit)
    return abs(number - value) <= asked.tolerance * abs(value)


def _too_many_digits(text: str) -> str:
    digits = re.sub(r"[eE].*", "", _LEADING.match(text).group()).replace(".", "").lstrip("+-0 ")
    if len(digits) <= DIGITS:
        return ""
    return " Three digits are enough: the coefficients and your tape are not surer than that."


def _sign(asked: Exercise, value: float, answer: float) -> Reply | None:
    if _same(value, -answer, asked):
        return Reply("wrong", "The size is right and the sign is not.", "sign")
    return None


def _same(value: float, other: float, asked: Exercise) -> bool:
    return other != 0.0 and abs(value - other) <= asked.tolerance * abs(other)


def _named_slip(asked: Exercise, value: float) -> Reply | None:
    for slip in asked.slips:
        if _same(value, asked.answer(**slip.values), asked):
            return Reply("wrong", slip.say, "named")
    return None


def _rounding(off: float) -> Reply | None:
    if off > CLOSE:
        return None
    return Reply(
        "close",
        f"Close: {100.0 * off:.0f} % off. The way is right; a step was rounded too early. Keep one digit "
        "more until the end.",
        "rounding",
    )


def _unit_ratio(asked: Exercise, value: float, answer: float) -> Reply | None:
    """Name the power of ten or the ratio of two units between an answer and the right one."""
    ratio = value / answer
    if ratio <= 0.0:
        return None
    power = round(math.log10(ratio))
    size = "large" if ratio > 1.0 else "small"
    if power and _exactly(ratio, 10.0**power):
        return Reply(
            "wrong",
            f"The digits are right, but it is {_times(10.0**power)} too {size}: a decimal point slipped, or "
            "one unit was taken for another (cm for mm, m³ for L).",
            "power of ten",
        )
    # π is within half a percent of the root of 9.81.
    root = " or the root of g" if "sqrt(g" in asked.equation.relation else ""
    if "pi" in asked.equation.relation and _exactly(max(ratio, 1.0 / ratio), math.pi):
        return Reply("wrong", f"It is {_times(ratio)} too {size}: look for π{root}.", "pi")
    involved = {units.KINDS[asked.equation.symbol(s).kind].dimension for s in (asked.wanted, *asked.values)}
    for factor, dimensions, said in _RATIOS:
        if involved & set(dimensions) and _exactly(max(ratio, 1.0 / ratio), factor):
            return Reply("wrong", f"It is {_times(ratio)} too {size}: {said}.", "ratio of units")
    return None


def _exactly(ratio: float, factor: float) -> bool:
    """Whether a ratio is a factor to three digits: a tolerance of 5 % would take 9.81 for 10."""
    return abs(ratio - factor) <= 0.01 * factor


def _times(ratio: float) -> str:
    size = max(ratio, 1.0 / ratio)
    return f"{size:.0f} times" if size >= 9.5 else f"{size:.2g} times"


def _input_slip(asked: Exercise, value: float) -> Reply | None:
    """One of the given values taken wrongly: a radius, another unit, two values swapped."""
    for key in asked.values:
        symbol = asked.equation.symbol(key)
        if any(word in symbol.name for word in _ACROSS) and symbol.kind == "length":
            for factor, said in ((2.0, "twice"), (0.5, "half")):
                if _leads_to(asked, value, {key: factor * asked.values[key]}):
                    return Reply(
                        "wrong",
                        f"That comes out with {said} the {symbol.name}: a diameter and a radius were "
                        "taken for each other.",
                        "radius",
                    )
    for key in asked.values:
        symbol = asked.equation.symbol(key)
        factors = [10.0, 100.0, 1000.0]
        factors += [f for f, dims, _ in _RATIOS if units.KINDS[symbol.kind].dimension in dims]
        for factor in itertools.chain(factors, (1.0 / f for f in factors)):
            if symbol.kind != "number" and _leads_to(asked, value, {key: factor * asked.values[key]}):
                size = "too large" if factor > 1.0 else "too small"
                return Reply(
                    "wrong",
                    f"That comes out when the {symbol.name} is taken {_times(factor)} {size}: look at its "
                    "unit before it goes into the formula.",
                    "unit of a value",
                )
    if any(symbol.key == "g" for symbol in asked.equation.symbols) and _leads_to(asked, value, {"g": 1.0}):
        return Reply("wrong", "That comes out without g, 9.81 m/s².", "gravity")
    for a, b in itertools.combinations(asked.values, 2):
        same = asked.equation.symbol(a).kind == asked.equation.symbol(b).kind
        if same and _leads_to(asked, value, {a: asked.values[b], b: asked.values[a]}):
            names = (asked.equation.symbol(k).name for k in (a, b))
            return Reply("wrong", f"That comes out with {' and '.join(names)} swapped.", "swapped")
    return None


def _leads_to(asked: Exercise, value: float, changed: dict[str, float]) -> bool:
    try:
        return _same(value, asked.answer(**changed), asked)
    except ValueError:  # the formula has no value there
        return False


def _lost(asked: Exercise, value: float, answer: float) -> Reply:
    if value == 0.0:
        return Reply("wrong", f"It is not zero. {asked.hint}", "unknown")
    size = "large" if value > answer else "small"
    ratio = value / answer
    how = f"{_times(ratio)} too {size}" if ratio > 0.0 and not 0.5 < ratio < 2.0 else f"too {size}"
    return Reply("wrong", f"Not yet: {how}. {asked.hint}".strip(), "unknown")
