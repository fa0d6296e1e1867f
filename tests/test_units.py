"""Text to SI floats and back."""

from __future__ import annotations

import math

import hypothesis.strategies as st
import pytest
from hypothesis import given

from aquacalc import units
from aquacalc.units import KINDS, UnitError, in_unit, read, reading, show, text_of
from aquacalc.units.table import UNITS


@pytest.mark.outside
@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        # 1 in = 25.4 mm, 1 lb = 0.45359237 kg: international yard and pound agreement 1959.
        ("3/4 in", "length", 0.01905),
        ("1 1/2 in", "length", 0.0381),
        ("1-1/2 in", "length", 0.0381),
        ("26.6 mm", "length", 0.0266),
        ("2.5 ft", "distance", 0.762),
        ("-1.5 ft", "elevation", -0.4572),
        ("12 lb", "mass", 5.44310844),
        ("1 yard", "length", 0.9144),
        # US gallon of 231 cubic inches (NIST Handbook 44).
        ("1 gal", "volume", 3.785411784e-3),
        ("1 US gallon", "volume", 3.785411784e-3),
        ("60 gpm", "flow", 3.785411784e-3),
        ("60 gph", "flow", 3.785411784e-3 / 60),
        ("18 L/min", "flow", 3e-4),
        ("18 l/min", "flow", 3e-4),
        ("3.6 m3/h", "flow", 1e-3),
        ("3.6 m³ / h", "flow", 1e-3),
        ("2 cfs", "flow", 2 * 0.3048**3),
        ("20 degC", "temperature", 20.0),
        ("68 degF", "temperature", 20.0),
        ("-40 °F", "temperature", -40.0),
        ("293.15 K", "temperature", 20.0),
        # 1 psi = 6894.757 Pa (NIST SP 811).
        ("1 psi", "pressure", 6894.757293168361),
        ("1 mwc", "pressure", 9806.65),
        ("100 lb/ft^2", "load", 488.242763638305),
        ("12 cm**2", "opening_area", 12e-4),
        ("90 min", "time", 5400.0),
        ("2 per hour", "frequency", 2 / 3600),
        ("1740 rpm", "rotation", 29.0),
        ("42 %", "ratio", 0.42),
        ("0.42", "ratio", 0.42),
        (0.42, "ratio", 0.42),
        (3, "number", 3.0),
        ("1e-3 m", "length", 1e-3),
        (".5 m", "length", 0.5),
        # As people say them: 1 ft = 12 in = 0.3048 m, 1 min = 60 s (both by definition).
        ("3 ft 9 in", "length", 1.143),
        ("3' 9\"", "length", 1.143),
        ("3′ 9 1/2″", "length", 1.1557),
        ("-3 ft 9 in", "elevation", -1.143),
        ('1 1/2"', "length", 0.0381),
        ("6'", "distance", 1.8288),
        ("1 m 20 cm", "length", 1.2),
        ("18 lpm", "flow", 3e-4),
        ("18 LPM", "flow", 3e-4),
        ("60 GPM", "flow", 3.785411784e-3),
        ("3:38", "time", 218.0),
        ("1:02:03", "time", 3723.0),
        ("3 min 38 s", "time", 218.0),
        ("2 h 5 min", "time", 7500.0),
        ("5 lb 4 oz", "mass", 5.25 * 0.45359237),
    ],
)
def test_read(text, kind, value):
    assert math.isclose(read(text, kind), value, rel_tol=1e-12)


@pytest.mark.identity
def test_read_gives_the_nearest_float():
    assert read("26.6 mm", "length") == 0.0266
    assert read("0.1 mm", "length") == 0.0001
    assert read("18 L/min", "flow") == 0.0003


@pytest.mark.identity
@pytest.mark.parametrize(
    ("text", "kind", "reason", "fix"),
    [
        ("1200", "length", "bare number where a length is wanted", '"26.6 mm"'),
        (1200, "length", "bare number where a length is wanted", '"26.6 mm"'),
        (12.5, "flow", "bare number where a flow is wanted", '"18 L/min"'),
        ("18 L", "length", 'unit "L" (volume) where a length is wanted', '"26.6 mm"'),
        ("5 kg", "opening_area", 'unit "kg" (mass) where an opening area is wanted', '"12 cm²"'),
        ("5 C", "temperature", 'unit "C" ([current] * [time])', '"20 degC"'),
        ("5 %", "length", 'unit "%" (number)', '"26.6 mm"'),
        ("5 foo", "length", 'unit "foo" that is not known', '"26.6 mm"'),
        ("5 m**9**9", "length", "not known", '"26.6 mm"'),
        ("5 mm; import os", "length", "not known", '"26.6 mm"'),
        ("5 delta_degC", "temperature", "where a temperature is wanted", '"20 degC"'),
        ("3 dB", "ratio", "not known", "0.42"),
        ("nan mm", "length", "is not a finite number", '"26.6 mm"'),
        ("inf mm", "length", "is not a finite number", '"26.6 mm"'),
        ("-inf", "ratio", "is not a finite number", "0.42"),
        (math.nan, "ratio", "is not a finite number", "0.42"),
        (math.inf, "number", "is not a finite number", "0.6"),
        ("1e999 m", "length", "is not a finite number", '"26.6 mm"'),
        ("1e999 ft 3 in", "length", "is not a finite number", '"26.6 mm"'),  # an OverflowError once
        ("1/0 in", "length", "is not a finite number", '"26.6 mm"'),
        ("-5 mm", "length", "is negative, which a length cannot be", '"26.6 mm"'),
        (-0.1, "ratio", "is negative, which a ratio cannot be", "0.42"),
        ("26,6 mm", "length", "comma in its number", "use a point"),
        ("wide", "length", "does not begin with a number", '"26.6 mm"'),
        ("", "length", "does not begin with a number", '"26.6 mm"'),
        ("9" * 200 + " mm", "length", "does not begin with a number", '"26.6 mm"'),
        (True, "ratio", "is not a ratio", "0.42"),
        (None, "length", "is not a length", '"26.6 mm"'),
        (["1 m"], "length", "is not a length", '"26.6 mm"'),
        ("9 in 3 ft", "length", "that is not known", '"26.6 mm"'),
        ("3 ft -9 in", "length", "that is not known", '"26.6 mm"'),
        ("3 ft 9 kg", "length", "that is not known", '"26.6 mm"'),
        ("3:75", "time", "that is not known", '"12 min"'),
        ("3:38", "length", "that is not known", '"26.6 mm"'),
    ],
)
def test_read_refuses_in_one_clear_sentence(text, kind, reason, fix):
    with pytest.raises(UnitError) as caught:
        read(text, kind, "bed.bed 1.length")
    error = caught.value
    assert error.place == "bed.bed 1.length"
    assert error.fix
    assert error.reason
    said = str(error)
    assert said.startswith("bed.bed 1.length: ")
    assert reason in said
    assert fix in said
    assert "\n" not in said
    assert len(said) < 300


@pytest.mark.identity
def test_value_of_the_error_is_what_was_given():
    with pytest.raises(UnitError) as caught:
        read("18 L", "length", "sump.depth")
    assert caught.value.value == "18 L"
    assert '"18 L"' in str(caught.value)


@pytest.mark.identity
@given(st.text(max_size=90), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_number_or_one_error(text, kind):
    try:
        value = read(text, kind)
    except UnitError:
        return
    assert math.isfinite(value)


@pytest.mark.identity
@given(
    st.floats(allow_nan=False, allow_infinity=False, min_value=-1e300, max_value=1e300),
    st.sampled_from(["mm", "m", "in", "ft", "L/min", "gpm", "gal", "degC", "degF", "psi", "per hour", ""]),
)
def test_text_reads_back_exactly(value, unit):
    text = text_of(value, unit)
    dimension = reading.lookup(unit)[0]
    signed = {"length": "elevation", "pressure": "pressure", "temperature": "temperature", "number": "number"}
    if dimension in signed:
        assert read(text, signed[dimension]) == value
    elif value >= 0:
        assert read(text, next(k.name for k in KINDS.values() if k.dimension == dimension)) == value


@pytest.mark.identity
@given(st.decimals(min_value=0, max_value=9999, places=3), st.sampled_from(["mm", "in", "m"]))
def test_text_in_a_unit_is_as_short_as_it_was_written(number, unit):
    written = f"{number.normalize():f} {unit}"
    assert text_of(read(written, "length"), unit) == written


@pytest.mark.identity
def test_text_of_refuses():
    with pytest.raises(ValueError, match="not a finite number"):
        text_of(math.nan, "mm")
    with pytest.raises(ValueError, match="is not known"):
        text_of(1.0, "foo")


@pytest.mark.identity
@pytest.mark.parametrize(
    ("value", "kind", "metric", "us"),
    [
        (0.0266, "length", "26.6 mm", "1.05 in"),
        (0.62, "elevation", "0.620 m", "24.4 in"),
        (-0.0001, "elevation", "0.000 m", "0.0 in"),
        (1.2, "distance", "1.20 m", "3.94 ft"),
        (0.0123, "head", "12.3 mm", "0.484 in"),
        (1.25, "head", "1.25 m", "4.10 ft"),
        (3e-4, "flow", "18.0 L/min", "4.76 gpm"),
        (0.2, "volume", "200 L", "52.8 gal"),
        (250.0, "time", "4 min 10 s", "4 min 10 s"),
        (119.4, "time", "119 s", "119 s"),
        (119.9, "time", "2 min 0 s", "2 min 0 s"),
        (5400.0, "time", "1 h 30 min", "1 h 30 min"),
        (3599.7, "time", "1 h 0 min", "1 h 0 min"),
        (20.0, "temperature", "20.0 degC", "68.0 degF"),
        (600.0, "load", "600 kg/m²", "123 lb/ft²"),
        (1234.0, "load", "1234 kg/m²", "253 lb/ft²"),
        (2.4 / 3600, "frequency", "2.40 per hour", "2.40 per hour"),
        (9.996e-3, "length", "10.0 mm", "0.394 in"),
        (1.52e-6, "roughness", "0.00152 mm", "5.98e-5 in"),
        (2.34e-7, "roughness", "0.000234 mm", "9.21e-6 in"),
        (2.34e9, "number", "2340000000", "2340000000"),
        (2.34e10, "number", "2.34e10", "2.34e10"),
        (26.28, "money", "26.28", "26.28"),
        (0.45, "ratio", "0.450", "0.450"),
        (0.0, "flow", "0 L/min", "0 gpm"),
        (math.nan, "flow", "no value", "no value"),
        (math.inf, "time", "no value", "no value"),
    ],
)
def test_show(value, kind, metric, us):
    assert show(value, kind) == metric
    assert show(value, kind, "us") == us


@pytest.mark.identity
def test_litres_are_never_a_small_letter():
    for kind in ("volume", "flow"):
        assert "L" in show(0.001, kind)
    assert text_of(read("3 l", "volume"), "L") == "3 L"


@pytest.mark.identity
def test_in_unit():
    assert in_unit(0.0266, "length") == (26.6, "mm")
    assert in_unit(0.0254, "length", "us")[0] == pytest.approx(1.0)
    assert in_unit(20.0, "temperature", "us") == (68.0, "degF")
    assert in_unit(600.0, "time", unit="min") == (10.0, "min")
    with pytest.raises(ValueError, match="does not measure a length"):
        in_unit(1.0, "length", unit="L")
    with pytest.raises(ValueError, match='use "metric" or "us"'):
        in_unit(1.0, "length", "imperial")


@pytest.mark.identity
@given(st.floats(1e-12, 1e12), st.sampled_from(sorted(KINDS)), st.sampled_from(["metric", "us"]))
def test_what_is_shown_can_be_read(value, kind, system):
    shown = show(value, kind, system, digits=17)
    if kind == "temperature":
        assert read(shown, kind) == pytest.approx(value, rel=1e-12, abs=1e-12)
    else:
        assert read(shown, kind) == pytest.approx(value, rel=1e-12)


SPELLED = {
    '"': "inch",
    "'": "foot",
    "lpm": "L/min",
    "LPM": "L/min",
    "GPM": "gpm",
    "GPH": "gph",
    "lph": "L/hour",
    "LPH": "L/hour",
    "Pa s": "Pa*s",
    "mPa s": "mPa*s",
    "lbs": "lb",
    "°": "degree",
    "/h": "1/hour",
    "1/h": "1/hour",
}


@pytest.mark.outside
def test_the_table_of_units_agrees_with_pint():
    """Every unit of the table against the definitions of pint 0.25 (NIST SP 811 and CODATA)."""
    known = units.registry()
    checked = 0
    for dimension, table in UNITS.items():
        if dimension in ("number", "lip coefficient"):
            continue
        si = reading._PINT_KIND_UNITS.get(dimension, next(iter(table)))
        for text, size in table.items():
            if text == "rpm":  # a turn counts as 1 here and as 2 pi there
                continue
            theirs = SPELLED.get(text, text.removeprefix("US ").replace("per ", "1/"))
            assert known.convert(1.0, theirs, si) == pytest.approx(float(size), rel=1e-12), text
            checked += 1
    assert checked > 60
    assert known.convert(68.0, "degF", "degC") == pytest.approx(20.0)


@pytest.mark.identity
def test_one_registry_made_when_asked():
    import pint

    assert units.registry() is units.registry()
    assert units.registry() is pint.get_application_registry()
    assert units.registry()("1 gpm").to("L/min").magnitude == pytest.approx(3.785411784)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("text", "celsius"),
    [("25 °C", 25.0), ("25 degC", 25.0), ("77 °F", 25.0), ("77 degF", 25.0), ("298.15 K", 25.0)],
)
def test_every_scale_of_temperature_has_its_zero_and_its_degree(text, celsius):
    """Water freezes at 0 degC, 32 degF, 273.15 K and boils 100 K or 180 degF above."""
    assert units.read(text, "temperature") == pytest.approx(celsius, abs=1e-12)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("text", "unit"),
    [("3 ft 9 in", "in"), ("3' 9\"", "in"), ("12 L/min", "L/min"), ("1 h 20 min", "min"), ("3:38", "s"),
     ("5", ""), ("7'", "ft"), ("8 gpm", "gpm"), ("wide", "")],
)  # fmt: skip
def test_the_unit_of_a_text_is_that_of_its_last_part(text, unit):
    assert units.unit_of(text) == unit
