"""Lengths add up and nothing lies inside something else unseen, on random plans."""

import pytest

from aquacalc.plan import plan_from_text
from tests.geometry.random_space import problems
from tests.plan.generated import plan_text


@pytest.mark.identity
@pytest.mark.parametrize("seed", range(1000, 1060))
def test_random_plan(seed):
    assert problems(plan_from_text(plan_text(seed))) == []
