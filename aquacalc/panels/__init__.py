"""Panels for notebooks: sliders in the reader's units, a picture and words that follow at once."""

from aquacalc.panels.equation import EquationPanel
from aquacalc.panels.plan_panel import Move, PlanPanel
from aquacalc.panels.plans import demo_plan, open_plan
from aquacalc.panels.said import said
from aquacalc.panels.system import UnitSwitch, units, use
from aquacalc.panels.tuning import BedPanel, BedsPanel, LipPanel, SumpPanel

__all__ = [
    "BedPanel",
    "BedsPanel",
    "EquationPanel",
    "LipPanel",
    "Move",
    "PlanPanel",
    "SumpPanel",
    "UnitSwitch",
    "demo_plan",
    "open_plan",
    "said",
    "units",
    "use",
]
