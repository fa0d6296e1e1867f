"""Where each number of a packed plan stands in its flat buffers.

A deck is three buffers: `I` whole numbers (topology and offsets, shared by
all plans of one layout), `F` floats (the plan's sizes) and `W` floats (work
space, overwritten by a run). Named offsets keep the kernels readable; all
are module constants, which numba folds into the compiled code.
"""

from aquacalc.hydraulics.cells import CELL
from aquacalc.hydraulics.path_flow import PIECE

__all__ = ["CELL", "PIECE"]  # the rest are the offsets below

# --- I: header, then NODE_INTS per node, then GROUP_INTS per siphon group
I_NODES = 0
I_GROUPS = 1
I_SUMP_CELLS = 2  # where the sump's cells start in F
I_SUMP_COUNT = 3
I_PUMP_PATH = 4  # delivery pieces in F
I_PUMP_PIECES = 5
I_PUMP_CURVE = 6  # (flow, head) pairs in F
I_PUMP_POINTS = 7  # 0 for a constant flow
I_W_TABLES = 8  # flow tables of nodes, then of siphons
I_W_PUMP = 9  # pump table
I_W_STATE = 10  # y: nodes, sump, then out of each group, then pumped
I_W_TRIAL = 11
I_W_LEVEL = 12
I_W_GAIN = 13  # d level / d y
I_W_HINT = 14  # last storage cell used
I_W_FLOW = 15  # flow from each node to its parent
I_W_SLOPE_UP = 16
I_W_SLOPE_DOWN = 17
I_W_RATE = 18  # dy/dt
I_W_DIAGONAL = 19
I_W_LOWER = 20
I_W_UPPER = 21
I_W_BORDER = 22
I_W_ROW = 23
I_W_STAGES = 24  # four stages, one after another
I_W_GROUP = 25  # GROUP_WORK numbers per group
I_W_NODE = 26  # NODE_WORK numbers per node
I_W_SCALARS = 27
I_W_NET = 28  # net run flow into each node
I_W_JUNCTION = 29
I_W_MOVE = 30
I_W_LAST = 30
I_F_NODES = 31
I_F_GROUPS = 32
I_WIDTH = 33  # length of y
HEADER_INTS = 34

NODE_INTS = 7
N_PARENT = 0  # -1 for a node that holds a siphon
N_JUNCTION = 1
N_GROUP = 2
N_CELLS = 3
N_CELL_COUNT = 4
N_PATH = 5
N_PIECES = 6

GROUP_INTS = 3
G_ROOT = 0
G_PATH = 1
G_PIECES = 2

# --- F: header, then NODE_FLOATS per node, then GROUP_FLOATS per group, then cells and pieces
F_GRAVITY = 0
F_VISCOSITY = 1
F_PUMP_FLOW = 2
F_PUMP_GUARD = 3  # sump level at which the pump draws air
F_PUMP_OUTLET = 4
F_SUMP_START = 5
F_TOLERANCE = 6  # level error allowed per step, m
F_STEP_MAX = 7  # s
F_TIME_MAX = 8  # s
F_REPEAT = 9  # levels at break that count as the same, m
F_SUMP_FLOOR = 10
F_SUMP_RIM = 11
HEADER_FLOATS = 12

NODE_FLOATS = 5
NF_SHARE = 0
NF_INLET = 1  # invert of the pipe where it leaves this node
NF_OUTFALL = 2  # invert of the pipe where it enters the parent
NF_BORE = 3
NF_START = 4  # level at the start

GROUP_FLOATS = 9
GF_LIP = 0
GF_RIM = 1
GF_LIP_DIAMETER = 2
GF_LIP_WEIR = 3
GF_LIP_ORIFICE = 4
GF_CHOKING = 5
GF_PURGE = 6
GF_TAIL = 7
GF_PRIMED_LEVEL = 8  # lip plus priming head, filled in by the kernel


# --- flow tables: ln flow and its slope against ln head, 16 points to the decade, 1e-6 m to 10 m
TABLE_POINTS = 113
TABLE_FIRST = 1e-6
TABLE_LOG_FIRST = -13.815510557964274
TABLE_LOG_STEP = 0.14391156831212787
PUMP_POINTS = 65

# --- W scalars
S_PUMP = 0
S_PUMP_SLOPE = 1
S_PIVOT = 2
S_SUMP_LOW = 3
S_SUMP_HIGH = 4
S_TRACE_ROWS = 5
S_PUMP_GAIN = 6  # d pump flow / d sump volume, at the start of the step
SCALARS = 8

GROUP_WORK = 20
GW_REGIME = 0
GW_PURGE_END = 1
GW_DOWN = 2  # d outflow / d y of the root, at the start of the step
GW_DOWN_SUMP = 3
GW_BREAKS = 4
GW_DONE = 5
GW_T_BREAK = 6
GW_T_SPILL = 7
GW_T_CHOKE = 8
GW_T_PRIMED = 9
GW_FLOW_PRIMED = 10
GW_OUT_BREAK = 11
GW_PUMPED_BREAK = 12
GW_V_LOW = 13
GW_V_HIGH = 14
GW_V_BREAK = 15
GW_FLOW_HIGH = 16
GW_LIP_HIGH = 17

NODE_WORK = 4
NW_LOW = 0
NW_HIGH = 1
NW_BREAK = 2
NW_PRIMED = 3

FILLING, SPILLING, PURGING, SIPHONING = 0, 1, 2, 3

# --- OUT: header, then GROUP_OUT per group, then NODE_OUT per node
O_STATUS = 0  # 0 all groups settled, 1 out of time, 2 out of steps, 3 step too small
O_STEPS = 1
O_REJECTED = 2
O_TIME = 3
O_PUMPED = 4
O_DRAINED = 5
O_STORED = 6
O_BALANCE = 7
O_SUMP_LOW = 8
O_SUMP_HIGH = 9
O_SUMP_END = 10
O_TRACE_ROWS = 11
HEADER_OUT = 12

CYCLES, SPILLS, RUNS_ON, IDLE, UNSETTLED = 1, 2, 3, 4, 5
GROUP_OUT = 18
GO_OUTCOME = 0
GO_T_START = 1
GO_T_SPILL = 2
GO_T_CHOKE = 3
GO_T_PRIMED = 4
GO_T_BREAK = 5
GO_FLOW_PRIMED = 6
GO_FLOW_BREAK = 7
GO_MISFIT = 8
GO_PUMPED = 9
GO_DRAINED = 10
GO_V_LOW = 11
GO_V_HIGH = 12
GO_BREAKS = 13
GO_ROOT_LEVEL = 14
GO_FLOW_STEADY = 15
GO_BALANCE = 16
GO_FLOW_HIGH = 17

NODE_OUT = 4
NO_LOW = 0
NO_HIGH = 1
NO_BREAK = 2
NO_PRIMED = 3


def trace_width(nodes, groups):
    """Numbers in a trace row: time, levels and rates (nodes, sump), outflow and regime per group, pump."""
    return 2 + 2 * (nodes + 1) + 2 * groups


def out_width(nodes, groups):
    """Numbers in one result."""
    return HEADER_OUT + GROUP_OUT * groups + NODE_OUT * nodes
