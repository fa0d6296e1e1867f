"""Every test starts in metric units, with no panel open and nothing typed."""

import pytest
from ipywidgets import Widget

from aquacalc.notebook import use


@pytest.fixture(autouse=True)
def fresh_panels(monkeypatch):
    monkeypatch.setattr("aquacalc.notebook.entry._typed", {})  # what a form of another test was given
    use("metric")
    yield
    Widget.close_all()
    use("metric")
