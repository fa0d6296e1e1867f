"""A plan packed into the flat buffers that the kernels run on."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.engine import deck as d
from aquacalc.equations.formulas import GRAVITY, water_kinematic_viscosity
from aquacalc.geometry.strainers import outlet_level
from aquacalc.hydraulics import paths
from aquacalc.hydraulics.levels import drained_sump_level, lowest_pump_level, start_level
from aquacalc.hydraulics.starting import choke, purge
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Bed, Plan
from aquacalc.plan.network import order

#: Level error allowed in one step, m. The 0.1 mm at which cycles count as repeating is far above it.
STEP_TOLERANCE = 4e-6
REPEAT = 1e-4
#: Longest step, s: keeps the recorded levels smooth between rows.
STEP_MAX = 60.0


@dataclass(frozen=True)
class Deck:
    """One packed plan.

    Attributes
    ----------
    ints, floats : list
        The buffers `I` and `F` of `aquacalc.engine.deck`.
    work : int
        Length of the work space `W`.
    nodes : tuple of str
        Names of storages and junctions in kernel order, each before the one it drains to.
    junction : tuple of bool
        Which nodes store nothing.
    groups : tuple of str
        Names of the siphons in kernel order.
    group_of : tuple of int
        Group of each node.
    """

    ints: list[int]
    floats: list[float]
    work: int
    nodes: tuple[str, ...]
    junction: tuple[bool, ...]
    groups: tuple[str, ...]
    group_of: tuple[int, ...]


def pack(plan: Plan) -> Deck:
    """Pack a plan that has passed `check_plan`."""
    named = order(plan)
    index = {name: i for i, (name, _) in enumerate(named)}
    runs = {run.start: run for run in plan.runs}
    tees = {tee.name: tee for tee in plan.tees}
    n, groups = len(named), len(plan.siphons)
    share_total = sum(bed.inflow_share for bed in plan.beds)

    ints = [0] * (d.HEADER_INTS + d.NODE_INTS * n + d.GROUP_INTS * groups)
    floats = [0.0] * (d.HEADER_FLOATS + d.NODE_FLOATS * n + d.GROUP_FLOATS * groups)
    ints[d.I_NODES], ints[d.I_GROUPS] = n, groups
    ints[d.I_F_NODES] = d.HEADER_FLOATS
    ints[d.I_F_GROUPS] = d.HEADER_FLOATS + d.NODE_FLOATS * n

    def append(values: list[float], size: int) -> tuple[int, int]:
        at = len(floats)
        floats.extend(values)
        return at, len(values) // size

    def append_path(pieces: list[paths.Piece]) -> tuple[int, int]:
        return append([x for piece in pieces for x in piece.floats()], d.PIECE)

    for i, (name, group) in enumerate(named):
        ni = d.HEADER_INTS + d.NODE_INTS * i
        nf = d.HEADER_FLOATS + d.NODE_FLOATS * i
        run = runs.get(name)
        ints[ni + d.N_PARENT] = index[run.to] if run else -1
        ints[ni + d.N_GROUP] = group
        floats[nf + d.NF_START] = start_level(plan, name)
        if name in tees:
            ints[ni + d.N_JUNCTION] = 1
            floats[nf + d.NF_INLET] = tees[name].elevation
        else:
            vessel = plan.vessel(name)
            ints[ni + d.N_CELLS], ints[ni + d.N_CELL_COUNT] = append(vessel_cells(plan, vessel), d.CELL)
            if isinstance(vessel, Bed):
                floats[nf + d.NF_SHARE] = vessel.inflow_share / share_total
                floats[nf + d.NF_INLET] = outlet_level(plan, vessel)
        if run:
            ints[ni + d.N_PATH], ints[ni + d.N_PIECES] = append_path(paths.run_path(plan, run))
            floats[nf + d.NF_OUTFALL] = run.outfall
            floats[nf + d.NF_BORE] = run.pipe.bore

    for j, siphon in enumerate(plan.siphons):
        gi = d.HEADER_INTS + d.NODE_INTS * n + d.GROUP_INTS * j
        gf = d.HEADER_FLOATS + d.NODE_FLOATS * n + d.GROUP_FLOATS * j
        floor = plan.vessel(siphon.host).floor
        ints[gi + d.G_ROOT] = index[siphon.host]
        ints[gi + d.G_PATH], ints[gi + d.G_PIECES] = append_path(paths.siphon_path(siphon))
        floats[gf + d.GF_LIP] = floor + siphon.standpipe.height
        floats[gf + d.GF_RIM] = floor + siphon.bell.rim_height
        floats[gf + d.GF_LIP_DIAMETER] = siphon.standpipe.lip_diameter
        floats[gf + d.GF_LIP_WEIR] = siphon.lip_weir
        floats[gf + d.GF_LIP_ORIFICE] = siphon.lip_orifice
        floats[gf + d.GF_CHOKING] = choke(siphon)
        floats[gf + d.GF_PURGE] = purge(siphon)[1]
        floats[gf + d.GF_TAIL] = siphon.tail.outlet

    ints[d.I_SUMP_CELLS], ints[d.I_SUMP_COUNT] = append(vessel_cells(plan, plan.sump), d.CELL)
    sump = plan.sump
    floats[d.F_GRAVITY] = GRAVITY
    floats[d.F_VISCOSITY] = water_kinematic_viscosity(plan.water_temperature)
    floats[d.F_SUMP_FLOOR], floats[d.F_SUMP_RIM] = sump.floor, sump.rim
    floats[d.F_SUMP_START] = drained_sump_level(plan)
    floats[d.F_TOLERANCE], floats[d.F_STEP_MAX], floats[d.F_REPEAT] = STEP_TOLERANCE, STEP_MAX, REPEAT
    floats[d.F_PUMP_GUARD] = lowest_pump_level(plan)
    pump = plan.pump
    if pump.flow is not None:
        floats[d.F_PUMP_FLOW] = pump.flow
        reference = pump.flow
    else:
        ints[d.I_PUMP_CURVE], ints[d.I_PUMP_POINTS] = append([x for point in pump.curve for x in point], 2)
        ints[d.I_PUMP_PATH], ints[d.I_PUMP_PIECES] = append_path(paths.delivery_path(pump.delivery))
        floats[d.F_PUMP_OUTLET] = pump.delivery.outlet
        reference = 0.25 * max(q for q, _ in pump.curve)
    held = sum(
        floats[ints[d.HEADER_INTS + d.NODE_INTS * i + d.N_CELLS] + d.CELL * k + 3]
        for i, (name, _) in enumerate(named)
        if name not in tees
        for k in [ints[d.HEADER_INTS + d.NODE_INTS * i + d.N_CELL_COUNT] - 1]
    )
    floats[d.F_TIME_MAX] = 60.0 * max(held, 1e-3) / max(reference, 1e-9)

    width = n + 2 + groups
    ints[d.I_WIDTH] = width
    at = 0
    sizes = {
        d.I_W_TABLES: 2 * d.TABLE_POINTS * (n + groups),
        d.I_W_PUMP: d.PUMP_POINTS,
        d.I_W_STAGES: 4 * width,
        d.I_W_GROUP: d.GROUP_WORK * groups,
        d.I_W_NODE: d.NODE_WORK * n,
        d.I_W_SCALARS: d.SCALARS,
    }
    for slot in range(d.I_W_TABLES, d.I_W_LAST + 1):
        ints[slot] = at
        at += sizes.get(slot, width)
    return Deck(
        ints,
        floats,
        at,
        tuple(name for name, _ in named),
        tuple(name in tees for name, _ in named),
        tuple(s.name for s in plan.siphons),
        tuple(group for _, group in named),
    )
