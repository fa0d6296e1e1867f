"""The kept numbers of the plans in data/plans and tests/plans and of some drawn by number.

Held to 1e-9, not bit by bit: another machine's `exp` and `log` may end in another last digit, Python
itself sums more closely since 3.12, and the solver carries that on. A plan of which a siphon does not cycle
runs until nothing moves faster than 1e-7 m/s; when that is, and with it the means over the run, is no
sharper than the speed, so such plans are held to 1e-7. (Between the interpreter and machine code, which
differ in the same way, every number of all 214 plans agrees to 1e-9 but three of one plan, 3e-8 apart, which
runs until it comes to rest.) On one machine `python -m tests.frozen` compares all of them bit by bit.
"""

import copy

import pytest

from aquacalc.engine.events import SETTLED
from tests import frozen

SEEDS = range(55)
PLANS = list(frozen.texts(SEEDS))
TOLERANCE = 1e-9
AT_REST = SETTLED  # of a level of the order of 1 m


@pytest.fixture(autouse=True)
def _interpreted(monkeypatch):
    monkeypatch.setattr(frozen.runner, "_compiled_wanted", lambda: False)


@pytest.fixture(scope="module")
def kept():
    return frozen.stored()


@pytest.mark.pinned
@pytest.mark.parametrize(("name", "text"), PLANS, ids=[name for name, _ in PLANS])
def test_numbers_are_as_they_were(name, text, kept):
    outcomes = {row[0] for row in kept.get(name, {"group": {}})["group"].values()}
    tolerance = TOLERANCE if outcomes <= {"cycles"} else AT_REST
    found = frozen.differences(name, kept.get(name), frozen.measure(text), tolerance)
    assert not found, "\n".join([*found, f"If that is meant: {frozen.COMMAND}"])


@pytest.mark.identity
def test_every_plan_is_kept(kept):
    assert list(kept) == [name for name, _ in frozen.texts()]


@pytest.mark.identity
def test_a_change_is_named_with_plan_number_old_and_new(kept):
    name = "data/plans/greenhouse.toml"
    old, new = kept[name], copy.deepcopy(kept[name])
    assert frozen.differences(name, old, new) == []
    column = frozen.COLUMNS["group"].index("period")
    period = old["group"]["siphon"][column]
    new["group"]["siphon"][column] = period + 2e-9 * period
    assert frozen.differences(name, old, new) == [
        f"{name}: group siphon, period: {period!r} -> {new['group']['siphon'][column]!r}"
    ]
    assert frozen.differences(name, old, new, 1e-8) == []
    new["verdict"] = "does not"
    del new["finding"]["stop, siphon, flow"]
    said = frozen.differences(name, old, new, 1e-8)
    assert said[0] == f"{name}: verdict: works -> does not"
    assert said[1].startswith(f"{name}: finding stop, siphon, flow: ['good', ")
    assert frozen.differences(name, None, new) == [f"{name}: is not in the file"]
