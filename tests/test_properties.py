"""What holds of every plan, on a few; `python -m tests.properties` tries thousands."""

from collections import Counter

import pytest

from tests.properties import faults


@pytest.mark.identity
@pytest.mark.parametrize("seed", range(1000, 1060))
def test_a_plan_drawn_by_number(seed):
    assert list(faults(seed, Counter(), every=20)) == []
