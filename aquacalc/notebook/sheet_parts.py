"""The build sheet in a notebook: its tables, steps and drawings, in the reader's units."""

from __future__ import annotations

from base64 import b64encode
from functools import lru_cache
from html import escape

from aquacalc import catalogue
from aquacalc.buildsheet.files import drawings
from aquacalc.buildsheet.sheet import BuildSheet, build_sheet
from aquacalc.buildsheet.stock import read_workshop
from aquacalc.notebook.equation_panel import EquationPanel
from aquacalc.notebook.showing import Shown, said, steps
from aquacalc.notebook.table import Grid
from aquacalc.plan.model import Plan


@lru_cache(maxsize=4)
def _sheet(plan: Plan) -> BuildSheet:
    return build_sheet(plan, read_workshop(catalogue.data_dir() / "workshop-demo.toml"))


def sheet_table(plan: Plan, key: str) -> Grid:
    """Return a table of the plan's build sheet with the demo workshop: "cut-list", "stock", "weight" ..."""
    return Grid(_sheet(plan).table(key))


def sheet_warnings(plan: Plan) -> Shown:
    """Say what cannot be put together as planned."""
    return said(_sheet(plan).warnings or ["Everything fits."])


def sheet_steps(plan: Plan) -> Shown:
    """Return the steps of building, with their cautions."""
    return steps(_sheet(plan).steps)


def first_day(plan: Plan) -> Shown:
    """Return what to check on the first day with water."""
    return steps(_sheet(plan).checks)


def sheet_drawings(plan: Plan) -> Shown:
    """Draw section, plan view, the whole put together and every siphon, to scale."""
    drawn, pictures = drawings(_sheet(plan), "A4"), []
    for drawing in drawn:
        data = b64encode(drawing.svg().encode()).decode()
        pictures.append(
            '<figure tabindex="0" style="margin:0 0 1em;overflow-x:auto">'
            f'<img src="data:image/svg+xml;base64,{data}" '
            f'alt="{escape(drawing.alt)}" style="max-width:none"></figure>'
        )
    return Shown("\n".join(drawing.alt for drawing in drawn), "".join(pictures))


def load_panel(plan: Plan) -> EquationPanel:
    """Return what a square metre of the first bed weighs, with sliders that begin at its own media."""
    media = plan.beds[0].media
    ranges = {"h_m": ("100 mm", media.depth, "400 mm"), "h": ("0 mm", 0.24, "400 mm")}
    return EquationPanel("media_load", ranges, given={"phi": media.porosity, "rho_m": media.bulk_density})
