"""For workbooks: panels with sliders in the reader's units, forms, and how things show themselves."""

from aquacalc.notebook.equation_panel import EquationPanel
from aquacalc.notebook.lists import Listed, sentences, steps
from aquacalc.notebook.plan_panel import Move, PlanPanel
from aquacalc.notebook.prose import said
from aquacalc.notebook.reader_units import UnitSwitch, units, use
from aquacalc.notebook.saved_plan import demo_plan, open_plan
from aquacalc.notebook.shown_picture import Shown, shown
from aquacalc.notebook.table import Grid, grid
from aquacalc.notebook.tuning_panels import BedPanel, BedsPanel, LipPanel, SumpPanel

__all__ = [
    "BedPanel",
    "BedsPanel",
    "EquationPanel",
    "Grid",
    "LipPanel",
    "Listed",
    "Move",
    "PlanPanel",
    "Shown",
    "SumpPanel",
    "UnitSwitch",
    "demo_plan",
    "grid",
    "open_plan",
    "said",
    "sentences",
    "shown",
    "steps",
    "units",
    "use",
]
