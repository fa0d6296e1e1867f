"""A coefficient that is 3 % off is noticed by a value from outside."""

from __future__ import annotations

import pytest

from .. import mutation


@pytest.mark.outside
def test_no_change_of_a_coefficient_survives():
    alive, tried = mutation.survivors()
    assert alive == []
    assert tried >= 300
