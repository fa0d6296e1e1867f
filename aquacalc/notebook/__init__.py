"""For workbooks: panels with sliders in the reader's units, forms, tables, and how things show themselves.

Everything here is loaded when it is first used.
"""

from __future__ import annotations

from aquacalc.face import lazily

#: module -> what a workbook may have from it.
_FACE = {
    "bed_form": "BedForm",
    "bench_panel": "BenchPanel",
    "bench_tables": "afternoon afternoon_known first_trials measured_or_not odd_trials",
    "drain_panels": "BendsPanel bend_times bends_alone eddies_panel head_in_line head_in_siphon outlets "
    "right_angles wall_panel",
    "equation_panel": "EquationPanel",
    "kitchen_form": "KitchenForm kitchen",
    "lip_tables": "fills gains_and_costs plain_ends wide_lips",
    "plan_panel": "Move PlanPanel",
    "reader_units": "UnitSwitch units use",
    "readings_form": "ReadingsForm answers chances_drawn changes estimates fitted_ranges matches taken used",
    "saved_plan": "demo_plan open_plan",
    "sheet_parts": "first_day load_panel sheet_drawings sheet_steps sheet_table sheet_warnings",
    "showing": "said shown steps",
    "start_form": "StartForm",
    "strainer_panels": "StrainerPanel fewer_openings head_panel open_areas openings_panel strained",
    "sump_tables": "smallest_sump standpipe_by_sump sump_levels swing_panel",
    "table": "Grid grid",
    "tuning_panels": "BedPanel BedsPanel FittedPanel LipPanel SumpPanel cycle_panel flood_panel less_flow",
    "alternatives": "drain_lines flood_depths plans_around plans_map shared_or_each unspoken ways",
}
_WHERE = {name: module for module, names in _FACE.items() for name in names.split()}

__all__ = sorted(_WHERE)
__getattr__, __dir__ = lazily(__name__, _WHERE)
