"""Panels for notebooks: sliders in the reader's units, a picture and words that follow at once."""

from aquacalc.panels.equation import EquationPanel
from aquacalc.panels.system import UnitSwitch, units, use

__all__ = ["EquationPanel", "UnitSwitch", "units", "use"]
