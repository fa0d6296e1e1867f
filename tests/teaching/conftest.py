"""Every test starts in metric units and with no panel open, as those of the panels do."""

from tests.notebook.conftest import fresh_panels

__all__ = ["fresh_panels"]
