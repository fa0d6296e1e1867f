"""Worked calculations: what is shown is what is computed, in rows a reader can follow."""

from __future__ import annotations

import math
import re
import subprocess
import sys

import pytest
from latex2mathml.converter import convert

from aquacalc.equations import RECORDS, forms
from aquacalc.equations.worked import latex_quantity, worked

from .equations.points import in_range
from .regenerate import renew

FUNCTIONS = {n: getattr(math, n) for n in ("sqrt", "log10", "exp", "sin", "cos", "tan", "atan", "acos", "pi")}


def calculator(text: str) -> float:
    """Work a row of numbers out as a reader would on a calculator."""
    bare = re.sub(r" 1/s\b", "", text)
    bare = re.sub(r"(?<=\d)\s+[A-Za-zµ°][^)\s]*(?: s\b)?(?=[\s)]|$)", "", bare)
    return eval(bare.replace("×", "*").replace("^", "**"), {"__builtins__": {}}, dict(FUNCTIONS))


@pytest.mark.identity
def test_three_rows_of_an_orifice():
    got = worked(RECORDS["orifice_flow"], {"A": 1e-4, "H": 0.1})
    assert got.text.splitlines() == [
        "Q = C_d × A × sqrt(2 × g × H)",
        "Q = 0.6 × (0.0001 m²) × sqrt(2 × (9.807 m/s²) × (0.1 m))",
        "Q = 8.403e-5 m³/s = 5.04 L/min",
    ]
    assert got.rows[0] == r"Q = C_d \cdot A \cdot \sqrt{2 \cdot g \cdot H}"
    assert got.rows[2] == r"Q = 8.403 \times 10^{-5}\,\mathrm{m^{3}/s} = 5.04\,\mathrm{L/min}"
    assert got.latex().count("&=") == 3
    assert got.latex().count(r"\\") == 2
    assert got._repr_latex_().startswith("$$")
    assert got.where[1] == "A: area of the opening, 1.00 cm²"
    assert got.branch == ""


@pytest.mark.identity
def test_us_units_fit_together():
    got = worked(RECORDS["orifice_flow"], {"A": 1e-4, "H": 0.1}, "us")
    assert "ft²" in got.numbers_text
    assert "ft/s²" in got.numbers_text
    assert got.result_text == "Q = 0.002967 ft³/s = 1.33 gpm"
    # A formula with pressure or density is worked in SI, its result given in psi.
    crest = worked(RECORDS["crest_pressure"], {"z": 0.5, "K": 0.6, "v": 1.3}, "us")
    assert "kg/m³" in crest.numbers_text
    assert crest.result_text.endswith("psi")


@pytest.mark.identity
def test_rearranged_and_found_by_trial():
    got = worked(RECORDS["orifice_flow"], {"A": 1e-4, "Q": 1e-4}, for_symbol="H")
    assert got.formula_text == "H = (Q / (C_d × A))^2 / (2 × g)"
    assert got.result_text == "H = 0.1416 m = 142 mm"
    trial = worked(RECORDS["froude_bore"], {"Q": 3e-4, "Fr": 0.5}, for_symbol="D")
    assert trial.branch == "D appears more than once, so it is found by trial."
    assert "D^2" in trial.numbers_text


@pytest.mark.identity
@pytest.mark.parametrize(
    ("key", "values", "said", "formula"),
    [
        ("lip_flow", {"D": 0.04, "h": 0.012}, "h/D = 0.300 is below 0.388", "h^1.5"),
        ("lip_flow", {"D": 0.04, "h": 0.020}, "h/D = 0.500 is not below 0.388", "sqrt"),
        ("lip_head", {"D": 0.04, "Q": 3e-4}, "runs as a weir", "(2 / 3)"),
        ("lip_head", {"D": 0.04, "Q": 8e-4}, "runs as an orifice", "^2 / (2 × g)"),
        ("friction_factor", {"Re": 1500.0, "e": 0.0}, "Re = 1500 is not above 2000", "64 / Re"),
        ("friction_factor", {"Re": 3000.0, "e": 0.0}, "neither laminar nor turbulent", "f_0"),
        ("friction_factor", {"Re": 1e5, "e": 1e-4}, "Re = 100000 is not below 4000", "log10"),
        ("two_45_smooth", {"a": 0.05, "D": 0.0266}, "a/D = 1.880 lies between the table's 1.86", "K_1"),
        ("two_45_smooth", {"a": 0.5, "D": 0.0266}, "outside the table", "K = K_1"),
        ("cone_contraction", {"D_s": 0.02, "D_l": 0.03, "theta": 60.0}, "60.0 degrees is above 45", "sqrt"),
        ("bed_water", {"phi": 0.45, "A": 1.0, "h": 0.3, "h_m": 0.25}, "stands above the media", "h_m"),
        ("tee_branch_joining", {"Q_b": 5.0, "Q_c": 10.0, "D_b": 0.02, "D_c": 0.02}, "above 0.4", "0.55"),
    ],
)
def test_branch_is_said_with_its_numbers(key, values, said, formula):
    got = worked(RECORDS[key], values)
    assert said in got.branch
    assert got.text.startswith(got.branch)
    assert formula in got.formula_text
    assert "Piecewise" not in got.latex()


@pytest.mark.identity
@pytest.mark.parametrize("key", RECORDS)
def test_rows_of_every_record(key):
    record = RECORDS[key]
    values = in_range(record, 1)[0]
    for system in ("metric", "us"):
        got = worked(record, values, system)
        assert got.value == record.compute(**values).value
        for row in (*got.rows, got.latex()):
            markup = convert(row)
            assert "\\" not in markup, row
            assert "merror" not in markup
        assert set(got.where) == set(worked(record, values, system).where)
        assert len(got.where) >= len(record.symbols) - 1


@pytest.mark.identity
@pytest.mark.parametrize("key", [k for k in RECORDS if k not in ("friction_colebrook", "friction_factor")])
def test_row_of_numbers_gives_the_result_on_a_calculator(key):
    record = RECORDS[key]
    for values in in_range(record, 3, seed=4):
        got = worked(record, values)
        left, right = got.numbers_text.split(" = ")
        assert left == record.output.key
        # Four digits a number: a difference of near numbers, or a power, may lose one or two.
        spread = 2e-3 * max(abs(got.value), largest(record, values))
        assert calculator(right) == pytest.approx(got.value, rel=0.02, abs=spread), got.text


def largest(record, values) -> float:
    """Largest part of a difference, which rounding works on; 0 where the formula has none."""
    if record.key == "crest_pressure":
        return values["p_a"]
    if record.key == "crest_height":
        return (values["p_a"] - values["p_v"]) / (values["rho"] * 9.8) + 30.0
    return 1.0 if record.output.kind == "number" and record.topic == "local losses" else 0.0


@pytest.mark.identity
def test_minus_signs_and_units_are_bracketed():
    got = worked(RECORDS["crest_pressure"], {"z": -0.5, "K": 0.6, "v": 1.3})
    assert "((-0.5 m) +" in got.numbers_text
    assert r"\left(-0.5\,\mathrm{m}\right)" in got.numbers_latex
    loss = worked(RECORDS["referred_loss"], {"K_1": -0.04, "D_1": 0.02, "D_2": 0.03})
    assert "(-0.04)" in loss.numbers_text


@pytest.mark.identity
def test_warnings_are_in_the_text():
    got = worked(RECORDS["lip_weir_flow"], {"D": 0.04, "h": 0.03})
    assert [w.symbol for w in got.warnings] == ["h/D"]
    assert "Warning: h/D 0.7500 is above 0.5000" in got.text


@pytest.mark.identity
def test_quantities_in_latex():
    assert latex_quantity("4 min 10 s") == r"4\,\mathrm{min}\,10\,\mathrm{s}"
    assert latex_quantity("20.0 degC") == r"20.0\,{}^{\circ}\mathrm{C}"
    assert latex_quantity("1.71 m^0.5/s") == r"1.71\,\mathrm{m^{0.5}/s}"
    assert latex_quantity("-3.2e-5") == r"-3.2 \times 10^{-5}"


@pytest.mark.identity
def test_records_and_losses_import_nothing_heavy():
    code = (
        "import sys, aquacalc.units, aquacalc.equations.worked, aquacalc.equations; "
        "print(sorted({'sympy', 'pint', 'numpy', 'scipy', 'pandas', 'matplotlib'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.identity
def test_every_form_asked_for_is_kept():
    """No record with values drawn from its range needs sympy to be written."""
    kept = set(forms._kept())
    for record in RECORDS.values():
        for values in in_range(record, 20):
            relation = record.choose(values).relation if record.choose else record.relation
            assert f"{relation} | {record.output.key}" in kept, renew("forms")
