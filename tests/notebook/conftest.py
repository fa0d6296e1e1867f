"""Every test starts in metric units and with no panel open."""

import pytest
from ipywidgets import Widget

from aquacalc.notebook import use


@pytest.fixture(autouse=True)
def fresh_panels():
    use("metric")
    yield
    Widget.close_all()
    use("metric")
