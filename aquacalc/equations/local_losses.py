"""Records of the local losses: entrances, exits, bends, reducers and tees."""

from __future__ import annotations

import functools

from aquacalc.equations import losses
from aquacalc.equations.record import Choice, Equation, Limit, Source
from aquacalc.equations.sources import CONTINUITY, GEOMETRY
from aquacalc.equations.symbols import named

HI = Source("Hydraulic Institute Engineering Data Book", "Hydraulic Institute Engineering Data Book", "read")
HI_CHART = Source(
    "Hydraulic Institute Engineering Data Book, chart of screwed fittings (1 in)",
    "Hydraulic Institute chart, read off a graph to 10 %",
    "read",
)
SQUARE = Source(
    "Weisbach; Crane TP-410, flush square entrance", "Hydraulic Institute Engineering Data Book", "read"
)
RENNELS = Source("Rennels & Hudson 2012, Pipe Flow", "fluids 1.3.1 documentation", "read")
IDELCHIK = Source("Idelchik, Handbook of Hydraulic Resistance", "table in fluids 1.3.1", "read")
CRANE = Source("Crane TP-410", "fluids 1.3.1 documentation", "read")
BORDA = Source(
    "Borda 1766, Carnot: momentum across a sudden enlargement",
    "Hydraulic Institute Engineering Data Book, eq. 3.B.3",
    "read",
)
EXIT = Source("all the velocity head is lost in still water", "", "derived")

_STEP = Limit.ratio("D_s", "D_l", low=0.0, high=1.0, why="the small bore is the smaller one")
_TABLE_RELATION = "K = K_1 + (K_2 - K_1)*({top}/D - x_1)/(x_2 - x_1)"


def _table_choice(table, top: str, name: str, values: dict[str, float]) -> Choice:
    """Say between which table entries a ratio over the bore lies."""
    x = values[top] / values["D"]
    first, last = table[0], table[-1]
    if x < first[0] or x > last[0]:
        end = first if x < first[0] else last
        sentence = (
            f"{name}/D = {x:.3f} is outside the table: its end value K = {end[1]:g} at {end[0]:g} is taken."
        )
        return Choice("K = K_1", sentence, ((named("K_1 end")[0], end[1]),))
    (x_1, K_1), (x_2, K_2) = losses.table_rows(table, x)
    sentence = f"{name}/D = {x:.3f} lies between the table's {x_1:g} (K = {K_1:g}) and {x_2:g} (K = {K_2:g})."
    found = {"x_1": x_1, "x_2": x_2, "K_1": K_1, "K_2": K_2}
    looked_up = tuple((named(f"{key} table")[0], value) for key, value in found.items())
    return Choice(_TABLE_RELATION.format(top=top), sentence, looked_up)


def _table_equation(title, table, over: str, function, source, assumptions=()) -> Equation:
    top, bore = named(over, "D")
    ratio = Limit.ratio(top.key, "D", low=table[0][0], high=table[-1][0], why="the printed table ends there")
    return Equation(
        title=title,
        relation=_TABLE_RELATION.format(top=top.key),
        symbols=(named("K")[0], top, bore),
        function=function,
        source=source,
        assumptions=assumptions,
        choose=functools.partial(_table_choice, table, top.key, top.latex),
        limits=(ratio,),
    )


def _constant(title, function, source, assumptions=()) -> Equation:
    return Equation(
        title=title,
        relation=f"K = {function():g}",
        symbols=named("K"),
        function=function,
        source=source,
        assumptions=assumptions,
    )


def _projecting_branch(values: dict[str, float]) -> Choice:
    x = values["t"] / values["D"]
    if x <= 0.05:
        relation = "K = 1.12 - 22*(t/D) + 216*(t/D)**2 + 80*(t/D)**3"
        return Choice(relation, f"t/D = {x:.3f} is not above 0.05, so the thin wall adds to the loss.")
    sentence = f"t/D = {x:.3f} is above 0.05, so the wall is thick and acts like a flush one."
    return Choice("K = 1.12 - 22*0.05 + 216*0.05**2 + 80*0.05**3", sentence)


def _cone_branch(gentle: str, steep: str, values: dict[str, float]) -> Choice:
    theta = values["theta"]
    if theta <= 45.0:
        return Choice(gentle, f"The cone angle {theta:.1f} degrees is not above 45, so the cone is gentle.")
    return Choice(steep, f"The cone angle {theta:.1f} degrees is above 45, so the cone is steep.")


def _joining_branch(values: dict[str, float]) -> Choice:
    area_ratio = (values["D_b"] / values["D_c"]) ** 2
    share = values["Q_b"] / values["Q_c"]
    relation = "K = {C}*(1 + (Q_b/Q_c*(D_c/D_b)**2)**2 - 2*(1 - Q_b/Q_c)**2)"
    if area_ratio <= 0.35:
        C, why = "1", f"The branch has {area_ratio:.3f} of the run's area, not above 0.35"
    elif share <= 0.4:
        C, why = "0.9*(1 - Q_b/Q_c)", f"The branch brings {share:.3f} of the flow, not above 0.4"
    else:
        C, why = "0.55", f"The branch brings {share:.3f} of the flow, above 0.4"
    return Choice(relation.format(C=C), f"{why}, which sets the factor in front.")


_CONTRACTION = (
    "K = 0.8*sin(pi*theta/360)*(1 - (D_s/D_l)**2)",
    "K = 0.5*sqrt(sin(pi*theta/360))*(1 - (D_s/D_l)**2)",
)
_ENLARGEMENT = ("K = 2.6*sin(pi*theta/360)*(1 - (D_s/D_l)**2)**2", "K = (1 - (D_s/D_l)**2)**2")
_SHARE = Limit.ratio("Q_b", "Q_c", low=0.0, high=1.0, why="the branch brings part of the joined flow")

EQUATIONS = (
    Equation(
        title="A loss referred to another bore",
        relation="K_2 = K_1*(D_2/D_1)**4",
        symbols=named("K_2", "K_1", "D_1", "D_2"),
        function=losses.referred_loss,
        source=CONTINUITY,
    ),
    _constant("Entrance, square edge, flush", losses.entrance_square, SQUARE),
    Equation(
        title="Entrance, pipe standing into the water",
        relation="K = 1.12 - 22*(t/D) + 216*(t/D)**2 + 80*(t/D)**3",
        symbols=named("K", "t wall", "D"),
        function=losses.entrance_projecting,
        source=RENNELS,
        assumptions=("The pipe projects at least half a bore into the water.",),
        choose=_projecting_branch,
    ),
    _table_equation(
        "Entrance, rounded edge",
        losses.ROUNDED_ENTRANCE,
        "r edge",
        losses.entrance_rounded,
        IDELCHIK,
    ),
    _constant("Exit into still water or air", losses.exit_loss, EXIT),
    _constant("Sharp 90, smooth pipe", losses.mitre_90_smooth, HI),
    _constant("Sharp 90, rough pipe", losses.mitre_90_rough, HI),
    _table_equation(
        "Two 45s by spacing, smooth pipe",
        losses.TWO_45_SMOOTH,
        "a mitres",
        losses.two_45_smooth,
        HI,
        ("Mitred bends; both together.",),
    ),
    _table_equation(
        "Two 45s by spacing, rough pipe",
        losses.TWO_45_ROUGH,
        "a mitres",
        losses.two_45_rough,
        HI,
        ("Mitred bends; both together.",),
    ),
    _constant("Screwed elbow, 90, regular, 1 in", losses.elbow_90, HI_CHART),
    _constant("Screwed elbow, 90, long radius, 1 in", losses.elbow_90_long, HI_CHART),
    _constant("Screwed elbow, 45, 1 in", losses.elbow_45, HI_CHART),
    Equation(
        title="Swept bend",
        relation="K = f*(pi*theta/180)*(R/D) + (0.10 + 2.4*f)*sin(pi*theta/360)"
        " + 6.6*f*(sqrt(sin(pi*theta/360)) + sin(pi*theta/360))/(R/D)**(theta/45)",
        symbols=named("K", "f", "R", "D", "theta bend"),
        function=losses.bend_swept,
        source=RENNELS,
        assumptions=("Wall friction along the bend is counted in.",),
        limits=(Limit.ratio("R", "D", low=0.5, high=50.0, why="0.5 is a sharp inner edge"),),
    ),
    Equation(
        title="Sudden contraction",
        relation="K = 0.5*(1 - (D_s/D_l)**2)",
        symbols=named("K small bore", "D_s", "D_l"),
        function=losses.sudden_contraction,
        source=CRANE,
        assumptions=("Other sources lie above this: Hooper and Rennels to a third more.",),
        limits=(_STEP,),
    ),
    Equation(
        title="Sudden enlargement",
        relation="K = (1 - (D_s/D_l)**2)**2",
        symbols=named("K small bore", "D_s", "D_l"),
        function=losses.sudden_enlargement,
        source=BORDA,
        limits=(_STEP,),
    ),
    Equation(
        title="Angle of a cone",
        relation="theta = 360*atan((D_l - D_s)/(2*L))/pi",
        symbols=named("theta cone", "D_s", "D_l", "L cone"),
        function=losses.cone_angle,
        source=GEOMETRY,
        limits=(_STEP,),
    ),
    Equation(
        title="Cone contraction",
        relation=_CONTRACTION[0],
        symbols=named("K small bore", "D_s", "D_l", "theta cone"),
        function=losses.cone_contraction,
        source=CRANE,
        choose=functools.partial(_cone_branch, *_CONTRACTION),
        limits=(_STEP,),
    ),
    Equation(
        title="Cone enlargement",
        relation=_ENLARGEMENT[0],
        symbols=named("K small bore", "D_s", "D_l", "theta cone"),
        function=losses.cone_enlargement,
        source=CRANE,
        choose=functools.partial(_cone_branch, *_ENLARGEMENT),
        limits=(_STEP,),
    ),
    _constant("Screwed tee, straight through, 1 in", losses.tee_line, HI_CHART),
    _constant("Screwed tee, through the branch, 1 in", losses.tee_branch, HI_CHART),
    Equation(
        title="Tee where flows join, run",
        relation="K = 1.55*(Q_b/Q_c) - (Q_b/Q_c)**2",
        symbols=named("K joined", "Q_b", "Q_c"),
        function=losses.tee_run_joining,
        source=CRANE,
        limits=(_SHARE,),
    ),
    Equation(
        title="Tee where flows join, branch",
        relation="K = 0.9*(1 - Q_b/Q_c)*(1 + (Q_b/Q_c*(D_c/D_b)**2)**2 - 2*(1 - Q_b/Q_c)**2)",
        symbols=named("K joined", "Q_b", "Q_c", "D_b branch", "D_c"),
        function=losses.tee_branch_joining,
        source=CRANE,
        choose=_joining_branch,
        limits=(
            _SHARE,
            Limit.ratio("D_b", "D_c", low=0.1, high=1.0, why="the branch is not wider than the run"),
        ),
    ),
)
