"""A coefficient, a size in a table or a constant that is 3 % off is noticed by a value it is held against."""

from __future__ import annotations

import pytest

from .. import mutation


@pytest.mark.identity
def test_no_change_of_a_coefficient_survives():
    alive, idle, tried = mutation.survivors()
    assert alive == []
    assert tried >= 300
    # What is said only to steer a calculation is there, and changes no answer.
    for function, constant in mutation.STEERING:
        assert any(line.startswith(f"{function}: {constant:g} x") for line in idle), (function, constant)


@pytest.mark.identity
def test_no_change_of_a_table_or_of_the_engine_survives():
    alive, tried = mutation.table_survivors()
    assert alive == []
    assert tried >= 690
