"""A plan packed into the arrays that the kernels read."""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from typing import Any

from aquacalc.engine.state import FILLING, MOUTH_LOG_FIRST, MOUTH_LOG_STEP, MOUTH_POINTS, NEVER, PackedPlan
from aquacalc.equations.formulas import GRAVITY, water_kinematic_viscosity
from aquacalc.equations.mouth import MOUTH_LOSS
from aquacalc.geometry.strainers import outlet_level
from aquacalc.hydraulics import paths
from aquacalc.hydraulics.cells import Cells
from aquacalc.hydraulics.levels import drained_sump_level, start_level
from aquacalc.hydraulics.mouths import level_curve, mouth_loss
from aquacalc.hydraulics.pump import lowest_pump_level
from aquacalc.hydraulics.running import fills, open_path, opens_at
from aquacalc.hydraulics.starting import choke, choking_level, purge
from aquacalc.hydraulics.stopping import break_level
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Bed, Plan, Run
from aquacalc.plan.network import order

#: Level error allowed in one step, m. The 0.1 mm at which cycles count as repeating is far above it.
STEP_TOLERANCE = 4e-6
REPEAT = 1e-4
#: Longest step, s: keeps the recorded levels smooth between rows.
STEP_MAX = 60.0


def joined(record: type, parts: Sequence) -> tuple:
    """Return records of lists as one, and where each begins and ends in it."""
    ends = [0]
    for part in parts:
        ends.append(ends[-1] + len(part[0]) if part else ends[-1])
    columns = zip(*(part for part in parts if part), strict=True)
    return record(*([x for part in column for x in part] for column in columns)), ends[:-1], ends[1:]


@functools.cache
def mouth_curve(loss: float) -> tuple[list[float], list[float]]:
    """Return the table of a mouth with this entrance loss, as the kernels read it."""
    levels = [math.exp(MOUTH_LOG_FIRST + MOUTH_LOG_STEP * k) for k in range(MOUTH_POINTS)]
    return level_curve(loss, levels)


def mouth_table(run: Run) -> int:
    """Return the number of the table for the mouth of a run."""
    return MOUTH_LOSS.index(mouth_loss(run))


def pack(plan: Plan) -> PackedPlan:
    """Pack a plan that has passed `check_plan`."""
    names = [name for name, _ in order(plan)]
    index = {name: i for i, name in enumerate(names)}
    tees = [plan.tee(name) for name in names]
    vessels = [None if tee else plan.vessel(name) for name, tee in zip(names, tees, strict=True)]
    beds = [vessel if isinstance(vessel, Bed) else None for vessel in vessels]
    leaving = [plan.run_from(name) for name in names]
    siphons, pump, sump = plan.siphons, plan.pump, plan.sump
    share_total = sum(bed.inflow_share for bed in plan.beds)
    cells, first_cell, end_cell = joined(Cells, [v and vessel_cells(plan, v) for v in (*vessels, sump)])
    ways: list[Any] = [run and paths.as_pieces(paths.run_path(plan, run)) for run in leaving]
    ways += [paths.as_pieces(paths.siphon_path(plan, siphon)) for siphon in siphons]
    ways += [paths.as_pieces(open_path(plan, siphon)) for siphon in siphons]
    ways.append(pump.curve and paths.as_pieces(paths.delivery_path(pump.delivery)))
    pieces, first_piece, end_piece = joined(paths.Pieces, ways)
    held = sum(cells.V1[end - 1] for vessel, end in zip(vessels, end_cell, strict=False) if vessel)
    parent = [index[run.to] if run else -1 for run in leaving]
    first_child, next_child = [-1] * len(names), [-1] * len(names)
    for child in reversed(range(len(names))):
        if parent[child] >= 0:
            first_child[parent[child]], next_child[child] = child, first_child[parent[child]]
    reference = 0.25 * max(q for q, _ in pump.curve) if pump.curve else pump.flow
    return PackedPlan(
        nodes=len(names),
        siphons=len(siphons),
        gravity=GRAVITY,
        viscosity=water_kinematic_viscosity(plan.water_temperature),
        parent=parent,
        first_child=first_child,
        next_child=next_child,
        junction=[int(tee is not None) for tee in tees],
        siphon=[siphon for _, siphon in order(plan)],
        share=[bed.inflow_share / share_total if bed else 0.0 for bed in beds],
        inlet=[
            tee.elevation if tee else outlet_level(plan, bed) if bed else 0.0
            for tee, bed in zip(tees, beds, strict=True)
        ],
        outfall=[run.outfall if run else 0.0 for run in leaving],
        bore=[run.pipe.bore if run else 0.0 for run in leaving],
        mouth=[
            -1 if run is None or (bed and bed.outlet == "floor") else mouth_table(run)
            for run, bed in zip(leaving, beds, strict=True)
        ],
        start=[*(start_level(plan, name) for name in names), drained_sump_level(plan)],
        first_cell=first_cell,
        last_cell=[end - 1 for end in end_cell],
        cells=cells,
        first_piece=first_piece,
        end_piece=end_piece,
        pieces=pieces,
        root=[index[s.host] for s in siphons],
        lip=[plan.lip_level(s) for s in siphons],
        rim=[break_level(plan, s) for s in siphons],
        lip_diameter=[s.standpipe.lip_diameter for s in siphons],
        lip_weir=[s.lip_weir for s in siphons],
        lip_orifice=[s.lip_orifice for s in siphons],
        overflow=[plan.vessel(s.host).floor + s.overflow.height if s.overflow else NEVER for s in siphons],
        overflow_bore=[s.overflow.bore if s.overflow else 0.0 for s in siphons],
        start_level=[choking_level(plan, s) for s in siphons],
        purge=[purge(s)[1] * choke(s) for s in siphons],
        tail=[s.tail.end for s in siphons],
        foot=[paths.foot(plan, s) for s in siphons],
        fills=[int(fills(plan, s, "middle", drowned=False)) for s in siphons],
        fills_drowned=[int(fills(plan, s, "middle", drowned=True)) for s in siphons],
        opens=[opens_at(plan, s, "middle") for s in siphons],
        regime=[FILLING] * len(siphons),
        open=[0] * len(siphons),
        purged=[0.0] * len(siphons),
        mouth_flow=[x for loss in MOUTH_LOSS for x in mouth_curve(loss)[0]],
        mouth_slope=[x for loss in MOUTH_LOSS for x in mouth_curve(loss)[1]],
        pump_flow=pump.flow or 0.0,
        pump_guard=lowest_pump_level(plan),
        pump_outlet=pump.delivery.outlet if pump.delivery else 0.0,
        curve_flow=[q for q, _ in pump.curve],
        curve_head=[head for _, head in pump.curve],
        sump_floor=sump.floor,
        sump_rim=sump.rim,
        tolerance=STEP_TOLERANCE,
        step_max=STEP_MAX,
        time_max=60.0 * max(held, 1e-3) / max(reference, 1e-9),
        repeat=REPEAT,
    )
