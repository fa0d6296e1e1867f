"""Where the writing of a number changes: powers of ten, minutes, hours and days, signs, exact texts."""

import math
from fractions import Fraction

import pytest

from aquacalc.units import KINDS, UnitError, in_unit, read, show
from aquacalc.units.reading import _number, lookup, si, unit_of
from aquacalc.units.showing import _figures, text_of, typeset

pytestmark = pytest.mark.identity


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, 3, "0"),
        (1e-4, 3, "0.000100"),
        (-1.234e-4, 3, "-0.000123"),
        (9.99e-5, 3, "9.99e-5"),
        (1.5e-7, 2, "1.5e-7"),
        (9.99e9, 3, "9990000000"),
        (1.0e10, 3, "1.00e10"),
        (9.994, 3, "9.99"),
        (9.996, 3, "10.0"),
        (99.96, 3, "100"),
        (0.09996, 3, "0.100"),
        (-9.996, 3, "-10.0"),
        (12345.6, 3, "12346"),
        (99.5, 2, "100"),
        (9.96, 1, "10"),
        (1.0, 1, "1"),
    ],
)
def test_digits_of_a_number(value, digits, text):
    assert _figures(value, digits) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (119.4, "119 s"), (119.5, "2 min 0 s"), (-150.0, "-2 min 30 s"), (3599.4, "59 min 59 s"),
        (3599.6, "1 h 0 min"), (5429.0, "1 h 30 min"), (5431.0, "1 h 31 min"), (259199.0, "72 h 0 min"),
        (259200.0, "3.0 days"), (864000.0, "10 days"), (-7200.0, "-2 h 0 min"),
    ],
)  # fmt: skip
def test_times_of_a_watch(seconds, text):
    assert show(seconds, "time") == text


def test_a_time_in_its_own_unit_or_digits_is_no_watch():
    assert show(600.0, "time", digits=2) == "600 s"
    assert show(600.0, "time", unit="min") == "10.0 min"


def test_large_values_have_a_larger_unit_from_where_they_say():
    for name, kind in KINDS.items():
        if kind.large is None or kind.large[2] == math.inf:
            continue
        metric, us, least = kind.large
        for system, large, small in (("metric", metric, kind.metric), ("us", us, kind.us)):
            at, under = show(least, name, system), show(least * (1 - 1e-9), name, system)
            assert at.endswith(f" {large}"), name
            assert under.endswith(f" {small}"), name
            assert show(-least, name, system).endswith(f" {large}"), name


def test_nothing_is_written_of_what_is_no_number():
    assert show(math.nan, "length") == show(-math.inf, "flow") == "no value"
    assert show(-0.0001, "elevation") == "0.000 m"
    assert show(-0.0006, "elevation") == "-0.001 m"
    assert typeset("-3 to -5 well-kept") == "−3 to −5 well-kept"


def test_a_unit_of_another_dimension_is_refused():
    with pytest.raises(ValueError, match="does not measure"):
        in_unit(1.0, "length", unit="L")
    with pytest.raises(ValueError, match="does not measure"):
        in_unit(1.0, "length", unit="furlongs of nothing")
    with pytest.raises(ValueError, match="not known"):
        in_unit(1.0, "length", "imperial")
    assert in_unit(20.0, "temperature", "us") == (68.0, "degF")
    assert in_unit(0.0266, "length", "us")[0] == pytest.approx(26.6 / 25.4)


@pytest.mark.parametrize(
    ("text", "value"),
    [("26.6", Fraction(266, 10)), ("3/4", Fraction(3, 4)), ("1 1/2", Fraction(3, 2)),
     ("1-1/2", Fraction(3, 2)),
     ("-1 1/2", Fraction(-3, 2)), ("+3/4", Fraction(3, 4)), ("1e-999", Fraction(0)), ("-2", Fraction(-2))],
)  # fmt: skip
def test_numbers_are_exact(text, value):
    assert _number(text) == value


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [("3 ft 9 in", "length", 45 * 0.0254), ("-3 ft 9 in", "elevation", -45 * 0.0254),
     ("1:02:03", "time", 3723.0),
     ("3:38", "time", 218.0), ("90:00", "time", 5400.0), ("1 h 2 min 3 s", "time", 3723.0),
     ("2 lb 3 oz", "mass", (2 + 3 / 16) * 0.45359237), ("6' 7 1/2\"", "length", 79.5 * 0.0254)],
)  # fmt: skip
def test_several_parts_add_up(text, kind, value):
    assert read(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", [
    "9 in 3 ft", "3 ft 3 ft", "3 ft -9 in", "3 ft 1/0 in", "3:60", "1:60:00", "3 ft 9 s", "1 ft 2 in 3 in",
])  # fmt: skip
def test_parts_out_of_order_are_refused(text):
    with pytest.raises(UnitError):
        read(text, "time" if ":" in text else "length")


def test_numbers_that_are_none():
    for text, kind, reason in (
        ("1/0 m", "length", "not a finite number"), ("1e999 m", "length", "not a finite number"),
        ("nan", "number", "not a finite number"), ("-inf m", "length", "not a finite number"),
        ("1,5 m", "length", "comma"), (True, "number", "is not"), (3.0, "length", "bare number"),
        (math.inf, "number", "finite"), (-1, "ratio", "negative"), ("-0.1 m", "length", "negative"),
        ("5", "length", "bare number"), ("5 L", "length", "unit"),
    ):  # fmt: skip
        with pytest.raises(UnitError, match=reason):
            read(text, kind)
    assert read("-0.1 m", "elevation") == -0.1
    assert read("0 m", "length") == 0.0
    assert si(-0.1, "length") == -0.1
    for wrong in (True, math.nan, None):
        with pytest.raises(UnitError):
            si(wrong, "length")


def test_units_as_they_were_written():
    wanted = {
        "26.6 mm": "mm",
        "3' 7 1/2\"": "in",
        "3:38": "s",
        "5": "",
        "wide": "",
        "6'": "ft",
        "5 m^2": "m^2",
    }
    assert {text: unit_of(text) for text in wanted} == wanted
    assert lookup("mm^2") == lookup("mm2") == lookup("mm**2") == lookup("mm²")
    assert lookup("x" * 41) is None
    assert lookup("dB") is None


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(1000.0, "m", "1000 m"), (1e15, "m", "1000000000000000 m"), (2e16, "m", "2e16 m"), (1e-7, "m", "1e-7 m"),
     (0.3, "m", "0.3 m"), (293.0 - 273.0, "degC", "20 degC"), (1.0, "", "1")],
)  # fmt: skip
def test_shortest_text(value, unit, text):
    assert text_of(value, unit) == text


def test_a_wrong_value_is_quoted_no_longer_than_a_line():
    long = UnitError("here", "x" * 61, "is wrong", "mend it")
    assert str(long) == f'here: "{"x" * 57}..." is wrong; mend it'
    assert str(UnitError("here", "x" * 60, "is wrong", "mend it")) == f'here: "{"x" * 60}" is wrong; mend it'
    assert str(UnitError("here", 3.5, "is wrong", "mend it")) == "here: 3.5 is wrong; mend it"
