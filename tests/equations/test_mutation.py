"""A coefficient, a size in a table or a constant that is 3 % off is noticed by a value from outside."""

from __future__ import annotations

import pytest

from .. import mutation


@pytest.mark.outside
def test_no_change_of_a_coefficient_survives():
    alive, tried = mutation.survivors()
    assert alive == []
    assert tried >= 300


@pytest.mark.outside
def test_no_change_of_a_table_or_of_the_engine_survives_without_a_reason():
    alive, explained, tried = mutation.table_survivors()
    assert alive == []
    assert tried >= 650
    # A reason that is not needed is taken out.
    assert all(any(name in line for line in explained) for name in mutation.UNTOLD)
