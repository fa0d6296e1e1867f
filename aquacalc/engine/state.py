"""What the kernels read and write, by name: a packed plan, the state in time, the last cycle and the trace.

Each record is a named tuple of arrays (lists in the interpreter), because
interpreter, numba and the translation to JavaScript all take that. Nodes are
beds, chambers and tees, each before the one that it drains to; after them
comes the sump. Siphons come in the plan's order. Metres and seconds.
"""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from aquacalc.hydraulics.cells import Cells
from aquacalc.hydraulics.path_flow import Pieces

Floats = Sequence[float]
Ints = Sequence[int]

#: A level that no water reaches.
NEVER = 1e9

#: What a siphon is doing.
FILLING, SPILLING, PURGING, SIPHONING = 0, 1, 2, 3
#: What came of a siphon.
CYCLES, SPILLS, RUNS_ON, IDLE, UNSETTLED = 1, 2, 3, 4, 5

#: Flow tables: ln flow and its slope against ln head, 16 points to the decade, 1e-6 m to 10 m.
TABLE_POINTS = 113
TABLE_FIRST = 1e-6
TABLE_LOG_FIRST = -13.815510557964274
TABLE_LOG_STEP = 0.14391156831212787
#: Mouths: ln of the level over the bore, 24 steps up to a level of one bore.
MOUTH_POINTS = 25
MOUTH_LOG_FIRST = -6.0
MOUTH_LOG_STEP = 0.25
#: Above one bore a mouth fills and limits no more: its flow goes up with this power of the level.
MOUTH_FULL = 6.0
#: Sump levels, floor to rim, at which the pump's flow is worked out.
PUMP_POINTS = 65


class PackedPlan(NamedTuple):
    """A plan as the kernels read it; a run changes nothing in it.

    Paths are numbered: one out of each node (empty where a siphon drains it), one of each siphon that
    runs full, one of each down to an open tail, the pump's delivery.
    """

    nodes: int
    siphons: int
    gravity: float
    viscosity: float
    # by node
    parent: Ints  # -1 where a siphon drains the node
    first_child: (
        Ints  # the first node that drains to it, and the next one that drains to the same; -1 for none
    )
    next_child: Ints  # the next one that drains to the same
    junction: Ints  # 1 for a tee, which stores nothing
    siphon: Ints  # the one that the node drains to
    share: Floats  # of the pump's flow
    inlet: Floats  # invert of the pipe where it leaves the node
    outfall: Floats  # and where it enters the parent
    bore: Floats
    mouth: Ints  # table of the mouth with a free surface; -1 for a pipe's end that faces up
    # by node, then the sump
    start: Floats  # level at the start
    first_cell: Ints
    last_cell: Ints
    cells: Cells
    # by path
    first_piece: Ints
    end_piece: Ints
    pieces: Pieces
    # by siphon
    root: Ints  # node it stands in
    lip: Floats
    rim: Floats
    lip_diameter: Floats
    lip_weir: Floats
    lip_orifice: Floats
    overflow: Floats  # level of a safety overflow's mouth; NEVER without one
    overflow_bore: Floats
    start_level: Floats  # at which the bore fills
    purge: Floats  # m3 over the lip, from then to running full
    tail: Floats  # elevation of its end
    foot: Floats  # to which an open tail lets it fall
    fills: Ints  # 1 where the tail fills at the start, its end free
    fills_drowned: Ints  # and under water
    opens: Floats  # level below which a full tail with a free end lets air in
    regime: Ints  # at the start
    open: Ints  # 1 where air stands in the tail at the start
    purged: Floats  # m3 that had gone over the lip of one that purges at the start
    # mouths with a free surface: ln flow over sqrt(g) D^2.5 and its slope against ln level over D
    mouth_flow: Floats
    mouth_slope: Floats
    # pump
    pump_flow: float
    pump_guard: float  # sump level at which it draws air
    pump_outlet: float
    curve_flow: Floats  # empty for a constant flow
    curve_head: Floats
    sump_floor: float
    sump_rim: float
    # the run
    tolerance: float  # error of a level in one step
    step_max: float
    time_max: float
    repeat: float  # difference of levels at break that counts as none; negative: never


class State(NamedTuple):
    """All that changes in time, and the work space of a step."""

    # by node, then the sump, then the volume out of each siphon, then that of the pump
    volume: Floats  # of a tee its head
    trial: Floats  # the same at the end of the step tried
    rate: Floats
    k1: Floats  # stages
    k2: Floats
    k3: Floats
    k4: Floats
    # by node, then the sump
    level: Floats
    gain: Floats  # change of level with volume
    cell: Ints  # last one used
    flow: Floats  # to the parent, or through the siphon, or of the pump
    slope_up: Floats  # of flow with the level here
    slope_down: Floats  # and with the level where it goes
    net: Floats  # flow in less flow out
    low: Floats
    high: Floats
    covered: Floats  # flow that the mouth takes just covered
    at_start: Floats  # levels when the siphon last ran full
    at_break: Floats  # and when it broke
    at_other: Floats  # and when another broke that repeats its cycle
    # linear solve, by node, then the sump
    diagonal: Floats
    lower: Floats
    upper: Floats
    border: Floats
    move: Floats  # of the heads of tees
    pivot: Floats
    # by siphon, then the pump: change of its flow, at the start of the step
    by_root: Floats  # with the volume of the node it stands in
    by_sump: Floats  # with the volume of the sump
    # by siphon
    regime: Ints
    open: Ints  # 1 while air stands in the tail of a siphon that runs
    done: Ints  # 1 once its cycle repeats or nothing moves
    breaks: Ints
    out_choke: Floats  # volume that had gone out when it choked
    spill_time: Floats
    choke_time: Floats
    start_time: Floats
    break_time: Floats
    flow_start: Floats
    flow_high: Floats
    volume_low: Floats
    volume_high: Floats
    volume_break: Floats
    out_break: Floats
    pumped_break: Floats
    # flows worked out beforehand
    log_flow: Floats  # by path
    log_slope: Floats
    pump_table: Floats


class Cycles(NamedTuple):
    """What each siphon did from its last break but one to its last, or until nothing moved."""

    # by siphon
    outcome: Ints
    began: Floats  # s
    spill_time: Floats
    choke_time: Floats
    start_time: Floats
    ended: Floats
    flow_start: Floats
    flow_high: Floats
    flow_end: Floats
    level: Floats
    volume_low: Floats
    volume_high: Floats
    pumped: Floats
    drained: Floats
    balance: Floats
    breaks: Ints
    misfit: Floats  # largest difference of a level between the two breaks
    # by node
    low: Floats
    high: Floats
    at_start: Floats
    at_break: Floats
    # where the run ended: levels by node, then the sump; by siphon
    last: Floats
    regime: Ints
    open: Ints
    purged: Floats


class Trace(NamedTuple):
    """Rows in time, one after another in each column."""

    times: Floats
    levels: Floats  # nodes, sump
    rates: Floats  # nodes, sump
    outflows: Floats  # siphons
    regimes: Ints  # siphons
    pumps: Floats


class Totals(NamedTuple):
    """The whole run.

    `status` is 0 when every siphon settled, 1 out of time, 2 out of steps; `balance` the water lost,
    over the water pumped.
    """

    status: int
    steps: int
    rejected: int
    time: float
    pumped: float
    drained: float
    stored: float
    balance: float
    sump_low: float
    sump_high: float
    rows: int


def entries(field, plan, rows):
    """How many entries a field of state, cycles or trace has, with room for so many rows of trace."""
    if field == "log_flow" or field == "log_slope":
        return TABLE_POINTS * (plan.nodes + 2 * plan.siphons)
    if field == "pump_table":
        return PUMP_POINTS
    if field == "times" or field == "pumps":
        return rows
    if field == "levels" or field == "rates":
        return rows * (plan.nodes + 1)
    if field == "outflows" or field == "regimes":
        return rows * plan.siphons
    return plan.nodes + plan.siphons + 2


def zeros(count: int, kind: type) -> list:
    """Return what `numpy.zeros` does, as a list."""
    return [kind()] * count


def blank(plan: PackedPlan, rows: int, zeros: Callable[[int, type], Any] = zeros) -> tuple:
    """Return state, cycles and a trace of so many rows for a run of `plan`, all noughts."""
    return tuple(
        record(
            *(
                zeros(entries(name, plan, rows), int if kind == Ints else float)
                for name, kind in record.__annotations__.items()
            )
        )
        for record in (State, Cycles, Trace)
    )
