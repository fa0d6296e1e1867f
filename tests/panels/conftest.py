"""Every test starts in metric units."""

import pytest

from aquacalc.panels import use


@pytest.fixture(autouse=True)
def _metric():
    use("metric")
    yield
    use("metric")
