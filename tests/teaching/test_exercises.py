"""Every exercise has an answer, accepts it in either system of units, and says what went wrong."""

import itertools

import pytest

from aquacalc import units
from aquacalc.teaching import ask, check, checking, solution
from aquacalc.teaching.exercise import exercises

KEYS = tuple(exercises())
NUMBERS = tuple(k for k, e in exercises().items() if e.equation)
CHOICES = tuple(k for k, e in exercises().items() if e.choices)


def written(key: str, factor: float = 1.0, system: str = "metric", digits: int = 5) -> str:
    asked = exercises()[key]
    value, unit = units.in_unit(asked.answer(), asked.kind, system)
    return f"{factor * value:.{digits}g} {unit}".rstrip()


@pytest.mark.identity
@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("slots", "21.0 cm2"),  # 28 * 3 * 25 mm², by hand
        ("bore", "13.14 cm2"),  # pi * 40.9² / 4 mm², by hand
        ("open ratio", "2.052"),  # 19.7 / 9.6
        ("strainer head", "8.13 mm"),  # (3.833e-4 / (0.6 * 16e-4))² / 19.61
        ("speed", "0.761 m/s"),  # 0.001 m³/s over 13.14 cm²
        ("reynolds", "24467"),  # 0.60 * 0.0409 / 1.003e-6
        ("bend", "18.58 mm"),  # 0.45 * 0.90² / (2 * 9.81)
        ("wall", "31.34 mm"),  # 0.024 * 1.45 / 0.0409 * 0.85² / 19.61
        ("choking", "9.37 L/min"),  # 17.03 L/min at Fr 1 in a 26.6 mm bore, times 0.55
        ("bed water", "186.3 L"),  # 0.45 * 1.8 * 0.23
        ("fill", "7.5 min"),  # 150 / 20
        ("cycle", "11 min"),  # 120 / 15 + 120 / (55 - 15)
        ("weight", "202.5 kg/m2"),  # 350 * 0.27 + 1000 * 0.45 * 0.24
        ("jug", "18.0 L/min"),  # 9.0 L in half a minute
    ],
)
def test_answers_worked_by_hand(key, answer):
    asked = exercises()[key]
    assert asked.answer() == pytest.approx(units.read(answer, asked.kind), rel=1e-3)


@pytest.mark.identity
@pytest.mark.parametrize("key", NUMBERS)
@pytest.mark.parametrize("system", ["metric", "us"])
def test_the_answer_is_right_in_either_system_and_within_tolerance_only(key, system):
    asked = exercises()[key]
    assert check(key, written(key, system=system, digits=3)).right
    for side in (1.0, -1.0):
        assert check(key, written(key, 1.0 + side * 0.99 * asked.tolerance, system, 9)).right
        assert not check(key, written(key, 1.0 + side * 1.02 * asked.tolerance, system, 9)).right


@pytest.mark.identity
@pytest.mark.parametrize("key", NUMBERS)
def test_each_named_slip_is_told_apart_from_the_answer_and_recognised(key):
    asked = exercises()[key]
    for slip in asked.slips:
        assert abs(asked.answer(**slip.values) / asked.answer() - 1.0) > 2.0 * asked.tolerance
        value, unit = units.in_unit(asked.answer(**slip.values), asked.kind)
        reply = check(key, f"{value:.5g} {unit}".rstrip())
        assert (reply.verdict, reply.said) == ("wrong", slip.say)


@pytest.mark.identity
@pytest.mark.parametrize("key", NUMBERS)
@pytest.mark.parametrize("factor", [0.001, 0.01, 0.1, 10.0, 100.0, 1000.0])
def test_a_factor_of_ten_is_said_to_be_one(key, factor):
    reply = check(key, written(key, factor))
    assert (reply.verdict, reply.slip) in (("wrong", "power of ten"), ("wrong", "named"))
    assert f"{max(factor, 1 / factor):.0f} times" in reply.said or reply.slip == "named"


@pytest.mark.identity
@pytest.mark.parametrize("key", NUMBERS)
def test_a_missing_unit_and_a_wrong_one_are_said(key):
    asked = exercises()[key]
    if units.KINDS[asked.kind].dimension == "number":
        assert check(key, written(key) + " mm").slip == "unit"
        return
    number = written(key).split()[0]
    assert check(key, number).slip == "no unit"
    assert check(key, number).said.startswith("The number is right in one unit")
    wrong = "kg" if asked.kind != "mass" else "mm"
    reply = check(key, f"{number} {wrong}")
    assert (reply.slip, wrong in reply.said, "number itself is right" in reply.said) == ("unit", True, True)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("key", "given", "slip"),
    [
        ("bore", "52.6 cm2", "radius"),  # the bore taken for a radius
        ("bore", "3.28 cm2", "radius"),
        ("bore", "4.18 cm2", "pi"),
        ("bore", "13.8 cm2", "rounding"),
        ("speed", "45.7 m/s", "ratio of units"),  # L/min taken for L/s
        ("speed", "0.0127 m/s", "ratio of units"),
        ("fill", "7.5 s", "ratio of units"),
        ("fill", "7 min 30 s", ""),
        ("fill", "28 min 23 s", "ratio of units"),  # US gallons
        ("jug", "0.3 L/min", "ratio of units"),
        ("choking", "2.99 L/min", "pi"),  # or the root of g: 3.13
        ("bend", "182 mm", "gravity"),
        ("choking", "2963 L/min", "unit of a value"),  # 26.6 cm: 10^2.5 times as much
        ("bed water", "258 L", "swapped"),
        ("weight", "308 kg/m2", "swapped"),
        ("bed water", "-186 L", "sign"),
        ("jug", "-99 L/min", "sign"),
        ("jug", "-18", "no unit"),
        ("jug", "-18 kg", "unit"),
        ("slots", "twenty", "not a number"),
        ("slots", "21,0 cm2", "comma"),
        ("slots", "nan cm2", "not a number"),
        ("slots", "0 cm2", "unknown"),
        ("cycle", "49 min", "unknown"),
        ("which bend", "d", "no choice"),
        ("which bend", "A", "choice"),
    ],
)
def test_what_went_wrong(key, given, slip):
    assert check(key, given).slip == slip


@pytest.mark.identity
def test_other_wrong_answers_are_never_right():
    for key, factor in itertools.product(NUMBERS, (-3.0, 0.0, 0.29, 0.83, 1.17, 2.6, 7.7, 43.0)):
        assert not check(key, written(key, factor)).right


@pytest.mark.identity
@pytest.mark.parametrize("key", CHOICES)
def test_a_choice_has_one_right_letter_and_a_reason_for_each_wrong_one(key):
    asked = exercises()[key]
    assert {letter for letter in asked.choices if check(key, letter).right} == {asked.right}
    assert check(key, f"({asked.right.upper()})").right
    for letter in set(asked.choices) - {asked.right}:
        assert len(check(key, letter).said) > 20


@pytest.mark.identity
def test_no_answer_yet_gives_nothing_away():
    for key, asked in exercises().items():
        said = check(key, "  ")
        assert said.verdict == "none"
        if asked.equation:
            assert written(key, digits=3).split()[0] not in said.said


@pytest.mark.identity
@pytest.mark.parametrize("key", KEYS)
def test_the_question_does_not_hold_its_answer_and_the_solution_does(key):
    asked = exercises()[key]
    for system in ("metric", "us"):
        bundle = ask(key, system=system)._repr_mimebundle_()
        text = solution(key, 7, system)._repr_mimebundle_()["text/plain"]
        if asked.equation:
            answer = units.show(asked.answer(), asked.kind, system)
            assert answer not in bundle["text/plain"]
            assert text.startswith(f"Answer 7. {asked.title}")
            assert answer in text.split("\n")[0]  # the number stands in the key beside its number
        else:
            assert asked.why not in bundle["text/plain"]
            assert asked.why in text


@pytest.mark.identity
def test_the_box_answers_when_something_is_typed_and_when_the_button_is_pressed():
    question = ask("slots")
    _, row, reply = question.box.children
    answer, button = row.children
    answer.value = "0.75 cm2"
    assert "That is one slot" in reply.value
    answer.value = "21 cm2"
    assert "✓" in reply.value
    assert "Right." in reply.value
    reply.value = ""
    button.click()
    assert "Right." in reply.value


@pytest.mark.identity
def test_a_question_follows_the_units_of_the_notebook():
    from aquacalc.notebook import use

    question = ask("slots")
    assert "3 mm wide" in question.box.children[0].value
    use("us")
    assert "0.118 in wide" in question.box.children[0].value
    assert "in wide" in ask("slots").text
    use("metric")
    assert "3 mm wide" in question.text


@pytest.mark.identity
def test_typed_text_cannot_become_markup():
    question = ask("slots")
    _, row, reply = question.box.children
    row.children[0].value = "<script>1</script>"
    assert "<script>" not in reply.value


@pytest.mark.identity
def test_an_unknown_exercise_names_what_resembles_it():
    with pytest.raises(KeyError, match="slots"):
        check("slot", "1")


@pytest.mark.identity
def test_a_sign_too_many_is_said_with_and_without_the_right_size():
    right, wrong = check("jug", "-18 L/min").said, check("jug", "-99 L/min").said
    assert right == "The size is right, but this quantity is never negative: drop the sign."
    assert wrong == "This quantity is never negative: drop the sign."


@pytest.mark.identity
@pytest.mark.parametrize(
    ("key", "given", "verdict", "words"),
    [
        ("cycle", "8 min", "wrong", "filling alone"),
        ("cycle", "3 min", "wrong", "draining alone"),
        ("open ratio", "2.05 x", "right", "Right"),
        ("open ratio", "2.05 times", "right", "Right"),
        ("open ratio", "2.05 mm", "wrong", ""),
        ("slots", "3.26 sq in", "right", "Right"),
        ("jug", "18 lpm", "right", "Right"),
    ],
)
def test_what_a_learner_writes_is_told_what_it_is(key, given, verdict, words):
    said = check(key, given)
    assert said.verdict == verdict
    assert words in said.said


@pytest.mark.identity
@pytest.mark.parametrize(
    ("times", "near"), [(10.0, True), (10.09, True), (10.11, False), (9.91, True), (9.89, False)]
)
def test_a_factor_is_met_within_a_hundredth(times, near):
    assert checking._exactly(times, 10.0) == near


@pytest.mark.identity
@pytest.mark.parametrize(
    ("times", "words"),
    [
        (10.0, "10 times"), (0.1, "10 times"), (9.4, "9.4 times"), (9.6, "10 times"), (0.25, "4 times"),
        (1000.0, "1000 times"),
    ],
)  # fmt: skip
def test_a_factor_is_told_as_so_many_times(times, words):
    assert checking._times(times) == words


@pytest.mark.identity
@pytest.mark.parametrize(("factor", "size", "slip"), [
    (1000.0, "1000 times too large: a decimal point", "power of ten"),
    (0.01, "100 times too small: a decimal point", "power of ten"),
    (0.0, "", ""), (-0.1, "", ""), (1.0, "", ""), (12.0, "", ""),
])  # fmt: skip
def test_a_slipped_point_is_told_with_its_side(factor, size, slip):
    """The open area of slots has no pi, and inches or feet are other factors than twelve."""
    asked = exercises()["slots"]
    said = checking._unit_ratio(asked, factor * asked.answer(), asked.answer())
    if not slip:
        assert said is None or said.slip == "ratio of units"
        return
    assert (said.slip, size in said.said) == (slip, True)


@pytest.mark.identity
@pytest.mark.parametrize("key", NUMBERS)
def test_of_a_number_without_a_unit_it_is_said_whether_it_is_right_in_one(key):
    asked = exercises()[key]
    if units.KINDS[asked.kind].dimension == "number":
        return
    number, _, _ = written(key).partition(" ")
    assert check(key, number).said.startswith("The number is right in one unit, but which?")
    assert "is right in one of those" in check(key, f"{number} candela").said
    assert check(key, f"{1.37 * float(number):.5g}").said.startswith("Which unit is that in?")
    assert "is right in one of those" not in check(key, f"{1.37 * float(number):.5g} candela").said


@pytest.mark.identity
def test_a_box_is_read_when_it_is_left_and_not_at_each_letter():
    box = ask(NUMBERS[0]).box.children[1].children[0]
    assert box.continuous_update is False
