"""Each equation's documentation is whole, and its example runs."""

import doctest
import math

import pytest

from aquacalc.equations import RECORDS
from aquacalc.evidence.documentation import documentation, example_value, unit
from aquacalc.evidence.outside import best_kinds

from .public_names import Public, public_names

keys = pytest.mark.parametrize("key", RECORDS)


@pytest.mark.identity
@keys
def test_example_runs(key):
    test = doctest.DocTestParser().get_doctest(documentation(key), {}, key, None, None)
    assert len(test.examples) == 3
    said: list[str] = []
    done = doctest.DocTestRunner(optionflags=doctest.REPORT_NDIFF).run(test, out=said.append)
    assert (done.attempted, done.failed) == (3, 0), "".join(said)


@pytest.mark.identity
@keys
def test_formula_units_range_and_references_are_there(key):
    record, text = RECORDS[key], " ".join(documentation(key).split())
    assert record.title in text
    for symbol in record.symbols:
        assert f"{symbol.key} : float" in text
        assert unit(symbol) in text
        assert f"Holds from {symbol.low:g} to {symbol.high:g}: {symbol.why}." in text
    for limit in record.limits:
        assert f"{limit.name} Holds from {limit.low:g} to {limit.high:g}: {limit.why}." in text
    assert record.source.primary in text
    assert f"({example_value(key).kind})" in text
    if not record.choose:
        assert record.relation in text


@pytest.mark.identity
def test_example_is_the_best_value_put_into_the_equation_itself():
    kinds = best_kinds()
    # Those whose best value comes out of a chain take the best of their own.
    chained = {key for key in RECORDS if example_value(key).kind != kinds[key]}
    assert chained <= {
        "circle_area", "mean_velocity", "kinematic_viscosity", "relative_roughness", "strainer_head",
        "sudden_enlargement", "annulus_area", "annulus_diameter",
    }  # fmt: skip


@pytest.mark.identity
def test_every_branch_is_shown():
    text = documentation("lip_flow")
    assert "Q = C_w*pi*D*h**1.5" in text
    assert "Q = C_d*pi*D**2/4*sqrt(2*g*h)" in text
    assert math.isclose(RECORDS["lip_flow"].compute(D=0.3048, h=0.3048, g=9.81).value, 0.10706, rel_tol=1e-4)


@pytest.mark.identity
def test_every_public_name_is_documented_and_every_number_has_a_unit():
    names = list(public_names())
    assert len(names) > 500  # it did walk
    assert [public.name for public in names if not public.doc.strip()] == []
    assert [line for public in names for line in public.lacks()] == []


@pytest.mark.identity
@pytest.mark.parametrize(
    ("doc", "said"),
    [
        ("Return the level.", "here: x is not named"),
        ("Return the level at `x`.", "here: x has no unit"),
        ("Return the level at `x` (m).", ""),
        ("Return the level (m) at `x`.", ""),
        ("Return the level.\n\nParameters\n----------\nx : float\n    Where.\n", "here: x has no unit"),
        ("Return the level.\n\nParameters\n----------\nx : float\n    Where, m.\n", ""),
    ],
)
def test_a_number_without_name_or_unit_is_seen(doc, said):
    assert "; ".join(Public("here", doc, ("x",)).lacks()) == said


@pytest.mark.identity
def test_examples_in_docstrings_run():
    ran = 0
    for public in public_names():
        test = doctest.DocTestParser().get_doctest(
            public.doc, dict(vars(public.module)), public.name, None, None
        )
        said: list[str] = []
        done = doctest.DocTestRunner().run(test, out=said.append)
        assert done.failed == 0, "".join(said)
        ran += done.attempted
    assert ran >= 30
