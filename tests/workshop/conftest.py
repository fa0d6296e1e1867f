"""Panels of one test must not be redrawn when another switches the units: ipywidgets keeps them all alive."""

import pytest

from aquacalc.panels import system, use


@pytest.fixture(autouse=True)
def fresh_panels():
    yield
    system._followers.clear()
    use("metric")
