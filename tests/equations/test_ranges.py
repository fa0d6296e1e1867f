"""Just inside a limit is silent; just outside and far outside warn."""

from __future__ import annotations

import math

import pytest

from aquacalc.equations import RECORDS

from .points import in_range

LIMITS = [
    (record.key, symbol.key, side)
    for record in RECORDS.values()
    for symbol in record.symbols[1:]
    for side in ("low", "high")
]


def at(record, key, value, values):
    """Warnings about `key` when it has this value; None where the formula has no value."""
    try:
        result = record.compute(**values | {key: value})
    except ValueError:
        return None
    return [w for w in result.warnings if w.symbol == key]


@pytest.mark.identity
@pytest.mark.parametrize(("equation", "key", "side"), LIMITS)
def test_limit_of_a_symbol(equation, key, side):
    record = RECORDS[equation]
    symbol = record.symbol(key)
    limit = getattr(symbol, side)
    outward = -1.0 if side == "low" else 1.0
    step = 1e-6 * (abs(limit) or symbol.high)
    values = in_range(record, 1)[0]

    inside = at(record, key, limit - outward * step, values)
    assert inside in ([], None)
    assert at(record, key, limit, values) in ([], None)
    for distance in (step, 1e3 * max(abs(limit), symbol.high - symbol.low)):
        warnings = at(record, key, limit + outward * distance, values)
        if warnings is None:  # the formula itself refuses, with an error that names the values
            continue
        assert len(warnings) == 1
        warning = warnings[0]
        assert warning.limit == limit
        assert warning.source == record.source.primary
        assert symbol.why in warning.text
        assert ("below" if side == "low" else "above") in warning.text


@pytest.mark.identity
@pytest.mark.parametrize(
    ("equation", "values", "name"),
    [
        ("lip_weir_flow", {"D": 0.04, "h": 0.0201}, "h/D"),
        ("lip_orifice_flow", {"D": 0.04, "h": 0.0150}, "h/D"),
        ("two_45_smooth", {"a": 0.03, "D": 0.05}, "a/D"),
        ("two_45_rough", {"a": 0.40, "D": 0.05}, "a/D"),
        ("entrance_rounded", {"r": 0.011, "D": 0.05}, "r/D"),
        ("bend_swept", {"f": 0.02, "R": 0.02, "D": 0.05, "theta": 90.0}, "R/D"),
        ("sudden_contraction", {"D_s": 0.06, "D_l": 0.05}, "D_s/D_l"),
        ("sudden_enlargement", {"D_s": 0.06, "D_l": 0.05}, "D_s/D_l"),
        ("cone_contraction", {"D_s": 0.06, "D_l": 0.05, "theta": 30.0}, "D_s/D_l"),
        ("cone_enlargement", {"D_s": 0.06, "D_l": 0.05, "theta": 30.0}, "D_s/D_l"),
        ("cone_angle", {"D_s": 0.06, "D_l": 0.05, "L": 0.03}, "D_s/D_l"),
        ("tee_run_joining", {"Q_b": 2e-3, "Q_c": 1e-3}, "Q_b/Q_c"),
        ("tee_branch_joining", {"Q_b": 2e-4, "Q_c": 1e-3, "D_b": 0.06, "D_c": 0.05}, "D_b/D_c"),
        ("trapped_air", {"D_b": 0.075, "c": 0.02, "h": 0.03}, "h/c"),
        ("oval_area", {"L0": 1.0, "W0": 0.5, "L1": 1.2, "W1": 0.6, "H": 0.3, "z": 0.31}, "z/H"),
        ("oval_volume", {"L0": 1.0, "W0": 0.5, "L1": 1.2, "W1": 0.6, "H": 0.3, "z": 0.31}, "z/H"),
        ("tapered_area", {"L0": 1.0, "W0": 0.5, "L1": 1.2, "W1": 0.6, "H": 0.3, "z": 0.31}, "z/H"),
        ("tapered_volume", {"L0": 1.0, "W0": 0.5, "L1": 1.2, "W1": 0.6, "H": 0.3, "z": 0.31}, "z/H"),
        ("cycle_time", {"V": 0.1, "Q_i": 2e-4, "Q_s": 1e-4}, "Q_i/Q_s"),
        ("drain_time", {"A": 1.0, "A_o": 1e-3, "h_1": 0.5, "h_2": 0.6}, "h_2/h_1"),
        (
            "table_volume",
            {"h": 0.4, "h_1": 0.1, "h_2": 0.3, "A_1": 0.5, "A_2": 0.6, "V_1": 0.05},
            "place between rows",
        ),
    ],
)
def test_limit_of_a_combination(equation, values, name):
    warned = [w.symbol for w in RECORDS[equation].compute(**values).warnings]
    assert name in warned


@pytest.mark.identity
def test_table_holds_its_end_value_far_outside():
    two = RECORDS["two_45_smooth"]
    assert two.compute(a=1.9, D=0.01).value == 0.399
    assert two.compute(a=0.001, D=0.3).value == 0.507
    assert RECORDS["entrance_rounded"].compute(r=0.05, D=0.05).value == 0.03


@pytest.mark.identity
def test_between_laminar_and_turbulent_the_shares_change_over():
    factor = RECORDS["friction_factor"]
    for Re, word in ((1999.0, "laminar"), (2001.0, "neither"), (3999.0, "neither"), (4001.0, "turbulent")):
        assert word in factor.choose({"Re": Re, "e": 0.0}).sentence
        assert math.isfinite(factor.compute(Re=Re, e=0.0).value)


@pytest.mark.outside
@pytest.mark.parametrize(
    ("equation", "symbol", "side", "low", "high"),
    [
        # Surface tension: below 5 to 8 mm of head a lip law is unreliable (from memory).
        ("lip_flow", "h", "low", 0.005, 0.008),
        # Tubes of 10 to 15 mm can hold water against draining (Extrand 2017, Langmuir).
        ("choking_flow", "D", "low", 0.010, 0.015),
        # Self-venting below Froude 0.3 (Hills 1983), full bore above about 1 (Simpson 1968).
        ("choking_flow", "Fr", "low", 0.3, 0.3),
        ("choking_flow", "Fr", "high", 1.0, 1.0),
        # EN 12056-3 gives 1.34 per metre of lip, a sharp crest 1.84.
        ("lip_flow", "C_w", "low", 1.335, 1.345),
        ("lip_flow", "C_w", "high", 1.84, 1.84),
        # Ragged drilled plastic down to 0.4, short tube 0.80 to 0.82 (FHWA HEC-22, from memory).
        ("orifice_flow", "C_d", "low", 0.4, 0.4),
        ("orifice_flow", "C_d", "high", 0.80, 0.82),
        # Hydraulic Institute: 64/Re below 2000.
        ("friction_laminar", "Re", "high", 2000.0, 2000.0),
        # Hydraulic Institute: the figure of two mitres runs from spacing 0.71 to 6.28.
        ("entrance_rounded", "r/D", "high", 0.2, 0.2),
        ("two_45_smooth", "a/D", "low", 0.71, 0.71),
        ("two_45_smooth", "a/D", "high", 6.28, 6.28),
    ],
)
def test_limit_is_where_its_source_puts_it(equation, symbol, side, low, high):
    record = RECORDS[equation]
    places = {s.key: s for s in record.symbols} | {m.name: m for m in record.limits}
    assert low <= getattr(places[symbol], side) <= high
