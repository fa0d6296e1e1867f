"""What is shown is what is computed, for every record."""

from __future__ import annotations

import csv
import itertools
import math
import re
from dataclasses import replace

import pytest

from aquacalc.equations import RECORDS, TOPICS, algebra, formulas, losses, priming, symbols
from aquacalc.equations import record as record_module
from aquacalc.equations.forms import Form
from aquacalc.equations.record import check_kinds
from aquacalc.units import KINDS

from .points import in_range

STATUSES = {"read", "from memory", "derived", "common practice, no source"}
keys = pytest.mark.parametrize("key", RECORDS)


@pytest.mark.identity
@keys
def test_relation_is_the_function(key):
    record = RECORDS[key]
    points = in_range(record, 25)
    assert len(points) == (25 if len(record.symbols) > 1 else 1)
    for values in points:
        full = values | {record.output.key: record.compute(**values).value}
        choice = record.choose(full) if record.choose else None
        looked_up = {s.key: v for s, v in choice.looked_up} if choice else {}
        eq = algebra.parse(choice.relation if choice else record.relation)
        left, right = (algebra.numeric(side)(**full, **looked_up) for side in (eq.lhs, eq.rhs))
        assert math.isclose(left, right, rel_tol=1e-9, abs_tol=1e-13), (values, left, right)


def moves(record, key, values):
    """Whether the result depends on the symbol at this point."""
    here = record.compute(**values).value
    for factor in (0.999, 1.001):
        try:
            there = record.compute(**values | {key: values[key] * factor}).value
        except ValueError:
            return False
        if abs(there - here) < 1e-7 * abs(here):
            return False
    return True


def found_back(record, symbol, values, result):
    """The value found for a symbol, or None where the record says that several fit."""
    given = {k: v for k, v in values.items() if k != symbol} | {record.output.key: result}
    try:
        return record.solve_for(symbol, **given).value
    except ValueError as error:
        if "more than one" in str(error):
            return None
        raise


@pytest.mark.identity
@keys
def test_every_symbol_is_found_back(key):
    record = RECORDS[key]
    tried = dict.fromkeys((s.key for s in record.symbols[1:]), 0)
    for values in in_range(record, 12, seed=2):
        result = record.compute(**values).value
        for symbol in tried:
            if not moves(record, symbol, values):
                continue
            tried[symbol] += 1
            found = found_back(record, symbol, values, result)
            if found is not None:
                again = record.compute(**values | {symbol: found}).value
                assert math.isclose(again, result, rel_tol=1e-7), (symbol, values, found)
    assert all(tried.values()), f"never tried: {[k for k, n in tried.items() if not n]}"


@pytest.mark.identity
def test_one_answer_is_found_where_there_is_one():
    """A symbol that a formula rises or falls with must be found, not called ambiguous."""
    two_sided = {
        "bend_swept": {"R", "D", "theta"},
        "cone_contraction": {"theta"},
        "critical_flow": {"D"},
        "cycle_time": {"Q_i"},
        "drum_area": {"z"},
        "ergun": {"e"},
        "friction_factor": {"Re"},
        "mouth_level": {"y", "D"},
        "oval_area": {"z", "H"},
        "tapered_area": {"z", "H"},
        "tee_branch_joining": {"Q_b", "Q_c", "D_b", "D_c"},
        "tee_run_joining": {"Q_b", "Q_c"},
        "two_45_rough": {"a", "D"},
        "two_45_smooth": {"a", "D"},
    }
    for key, record in RECORDS.items():
        for values in in_range(record, 3, seed=3):
            result = record.compute(**values).value
            for symbol in values:
                if moves(record, symbol, values) and symbol not in two_sided.get(key, set()):
                    assert found_back(record, symbol, values, result) is not None, (key, symbol, values)


@pytest.mark.identity
@keys
def test_record_is_complete(key):
    record = RECORDS[key]
    assert record.key == key
    assert record.topic in TOPICS
    assert record.title
    assert record.source.primary
    assert record.source.status in STATUSES
    assert (record.source.status != "read") or record.source.read
    for symbol in record.symbols:
        assert symbol.kind in KINDS
        assert symbol.low < symbol.high
        assert symbol.name
        assert symbol.meaning
        assert symbol.why
        if symbol.default is not None:
            assert symbol.low <= symbol.default <= symbol.high


@pytest.mark.identity
def test_loss_functions_all_have_records():
    own = {n for n, f in vars(losses).items() if callable(f) and f.__module__ == losses.__name__}
    recorded = {r.function.__name__ for r in RECORDS.values()}
    assert own - recorded == {"table_rows", "table_value"}


@pytest.mark.identity
def test_inputs_are_refused_by_name():
    record = RECORDS["orifice_flow"]
    with pytest.raises(ValueError, match="has no symbol 'a'; use one of"):
        record.compute(a=1.0, H=1.0)
    with pytest.raises(ValueError, match="no value for A"):
        record.compute(H=1.0)
    with pytest.raises(ValueError, match=r"H \(head\): nan is not a finite number"):
        record.compute(A=1.0, H=math.nan)
    with pytest.raises(ValueError, match="the formula has no value at"):
        record.compute(A=1.0, H=-1.0)
    with pytest.raises(ValueError, match="Q is what is wanted"):
        record.compute(A=1.0, H=1.0, Q=1.0)


@pytest.mark.identity
def test_a_record_that_does_not_fit_its_function_is_refused():
    record = RECORDS["orifice_flow"]
    with pytest.raises(ValueError, match=r"orifice_flow: symbols \[.*\] are not the arguments \["):
        replace(record, symbols=record.symbols[:-1])
    odd = replace(record.symbols[0], kind="furlongs")
    with pytest.raises(ValueError, match="kind 'furlongs' of Q is not known"):
        check_kinds([replace(record, symbols=(odd, *record.symbols[1:]))])


@pytest.mark.identity
def test_two_answers_are_an_error_and_none_is_an_error():
    record = RECORDS["drum_area"]
    with pytest.raises(ValueError, match="more than one z"):
        record.solve_for("z", A=0.5, D=0.6, L=1.0)
    with pytest.raises(ValueError, match="no value of z"):
        record.solve_for("z", A=2.0, D=0.6, L=1.0)


@pytest.mark.identity
def test_join_meets_both_ends_and_run_loss_is_the_engines():
    for e in (0.0, 1e-4, 0.01):
        low = formulas.friction_factor(2000.0 * (1 + 1e-9), e)
        high = formulas.friction_factor(4000.0 * (1 - 1e-9), e)
        assert math.isclose(low, 0.032, rel_tol=1e-7)
        assert math.isclose(high, formulas.friction_colebrook(4000.0, e), rel_tol=1e-7)
        for Re, law in ((2000.0, formulas.friction_laminar), (4000.0, formulas.friction_colebrook)):
            own = [law(Re + d) if Re == 2000.0 else law(Re + d, e) for d in (0.1, -0.1)]
            join = [formulas.friction_join(Re + d, e) for d in (0.1, -0.1)]
            assert math.isclose(own[0] - own[1], join[0] - join[1], rel_tol=1e-3)
    f = formulas.friction_factor(3e-4 / 5.5e-4 * 0.0265 / 1e-6, 1.5e-6 / 0.0265)
    shown = RECORDS["run_head"].compute(f=f, L=2.0, D=0.0265, K=1.7, Q=3e-4, A=5.5e-4, g=9.81).value
    assert math.isclose(shown, formulas.piece_loss(3e-4, 5.5e-4, 0.0265, 2.0, 1.5e-6, 1.7, 1e-6, 9.81))


@pytest.mark.identity
def test_the_table_of_symbols_has_each_once_and_none_in_vain():
    with symbols.FILE.open(encoding="utf-8", newline="") as file:
        names = [row["symbol"] for row in csv.DictReader(file)]
    assert len(names) == len(set(names)), [name for name in names if names.count(name) > 1]
    topics = symbols.FILE.parent.glob("*.py")
    said = set(re.findall(r'"([^"\n]+)"', "\n".join(p.read_text(encoding="utf-8") for p in topics)))
    # what a formula looks up on its way is named by its key with a word: f"{key} table"
    vain = [n for n in names if n not in said and n.partition(" ")[2] not in ("join", "table", "temperature")]
    assert not vain
    assert symbols.named("g")[0].default == formulas.GRAVITY
    jump = symbols.named("Fr jump")[0]
    assert (jump.low, jump.default, jump.high) == priming.PURGE_FROUDE


def test_a_value_in_brackets_keeps_one_pair_of_them():
    form = Form(True, ("", ""), ("⟦a⟧", "⟦b⟧ - (⟦c⟧)"))
    assert form.in_text({"a": "x", "b": "(-3 mm)", "c": "(-2 mm)"}) == "x = -3 mm - (-2 mm)"


@pytest.mark.identity
@keys
def test_what_is_looked_for_by_its_sign_is_never_negative(key):
    """Points to look at are powers of ten: what may be negative has a formula of its own."""
    record = RECORDS[key]
    for symbol in record.symbols:
        closed = symbol is record.output or (not record.choose and record._rearranged(symbol.key) is not None)
        assert closed or symbol.low >= 0.0, symbol.key


@pytest.mark.identity
@pytest.mark.parametrize(("low", "first"), [(0.02, 2e-3), (0.0, 0.0)])
def test_points_to_look_at_go_ten_times_beyond_the_range(low, first):
    """400 equal ratios from a tenth of the range's lower end, or of a millionth of its upper one."""
    symbol = replace(RECORDS["loss_head"].symbols[0], low=low, high=50.0)
    points = record_module._grid(symbol)
    assert points[0] == pytest.approx(first)
    assert points[-1] == pytest.approx(500.0)
    above = points if low else points[1:]
    assert above[0] == pytest.approx((low or 50e-6) / 10.0)
    assert len(above) == 401
    ratio = (above[-1] / above[0]) ** (1.0 / 400)
    assert [b / a for a, b in itertools.pairwise(above)] == pytest.approx([ratio] * 400)
