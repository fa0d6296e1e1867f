"""Every test starts in metric units and with no panel open, as those of the panels do."""

import pytest

from tests.notebook.conftest import fresh_panels

__all__ = ["fresh_panels"]


@pytest.fixture(autouse=True)
def nothing_typed(monkeypatch):
    """No form remembers what another test typed."""
    monkeypatch.setattr("aquacalc.notebook.entry._typed", {})
