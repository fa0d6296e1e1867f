"""Calculations for flood-and-drain grow beds that share a bell siphon.

Everything here is loaded when it is first used.

Examples
--------
>>> import aquacalc
>>> plan = aquacalc.read_plan(aquacalc.data_dir() / "plans" / "greenhouse.toml")
>>> run = aquacalc.run_plan(aquacalc.change(plan, {"pump.flow": "20 L/min"}))
>>> aquacalc.verdict(aquacalc.find(run))
'works'
>>> aquacalc.equation("lip_head").compute(Q="18 L/min", D="40.9 mm", C_w=1.71, C_d=0.6)
head over lip: 12.3 mm
"""

from __future__ import annotations

from aquacalc.face import lazily

__version__ = "0.1.0"

#: name -> the module it comes from, and after a colon what it is called there.
_FACE = {
    "data_dir": "catalogue",
    "workbooks_dir": "catalogue",
    "read_plan": "plan.read",
    "plan_from_text": "plan.read",
    "write_plan": "plan.write",
    "save_plan": "plan.write",
    "change": "plan.edit:put",
    "value_of": "plan.edit:get",
    "run_plan": "results.cycle",
    "inflow_window": "results.window",
    "sump_range": "results.window",
    "find": "findings",
    "verdict": "findings",
    "advise": "design.advice",
    "tallest_standpipe": "design.sump",
    "sump_size": "design.sump",
    "smallest_drain_line": "design.drains",
    "strainer_slots": "design.drains",
    "lip_and_bore": "design.bore",
    "pump_flow_for": "design.pump_flow",
    "sturdy": "design.sturdy",
    "Reading": "design.readings",
    "fit": "design.fit",
    "chances": "design.chances:study",
    "sweep": "design.sweep",
    "build_sheet": "buildsheet.sheet",
    "build_report": "report.content",
    "equation": "equations",
}

__all__ = ["__version__", *_FACE]

__getattr__, __dir__ = lazily(__name__, _FACE)
