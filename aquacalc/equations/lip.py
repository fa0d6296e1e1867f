"""The lip of a standpipe: a circular weir that passes into an orifice.

The band of the weir coefficient, SI per metre of lip: EN 12056-3 and HR
Wallingford SR 620 1.34; King County Surface Water Design Manual 1.71; sharp
crest 1.84. The middle one is taken.
"""

from __future__ import annotations

from aquacalc.equations import formulas
from aquacalc.equations.record import Choice, Equation, Limit, Source
from aquacalc.equations.symbols import named

LIP = Source(
    "King County Surface Water Design Manual, riser in weir and orifice flow; "
    "EN 12056-3 / HR Wallingford SR 620",
    "",
    "from memory",
)
CROSSING = Source("the weir and orifice laws set equal", "", "derived")

WEIR = "Q = C_w*pi*D*h**1.5"
ORIFICE = "Q = C_d*pi*D**2/4*sqrt(2*g*h)"
WEIR_HEAD = "h = (Q/(C_w*pi*D))**(2/3)"
ORIFICE_HEAD = "h = (4*Q/(C_d*pi*D**2))**2/(2*g)"


def lip_branch(values: dict[str, float], by_head: bool = True) -> Choice:
    """Say whether the lip runs as a weir or as an orifice, and by which numbers."""
    ratio = formulas.lip_crossing(values["C_w"], values["C_d"], values["g"])
    depth = values.get("h")
    if depth is None:
        depth = formulas.lip_head(*(values[k] for k in ("C_w", "C_d", "D", "Q", "g")))
    weir = depth < ratio * values["D"]
    side, name = ("below", "weir") if weir else ("not below", "orifice")
    sentence = (
        f"h/D = {depth / values['D']:.3f} is {side} {ratio:.3f}, where weir and orifice "
        f"carry the same flow, so the lip runs as {'a' if weir else 'an'} {name}."
    )
    if by_head:
        return Choice(WEIR if weir else ORIFICE, sentence)
    return Choice(WEIR_HEAD if weir else ORIFICE_HEAD, sentence)


EQUATIONS = (
    Equation(
        title="Flow over a level lip",
        relation=WEIR,
        symbols=named("Q", "C_w", "D lip", "h lip"),
        function=formulas.lip_weir_flow,
        source=LIP,
        assumptions=("The lip is level all round.", "Water falls freely inside the standpipe."),
        limits=(Limit.ratio("h", "D", low=0.0, high=0.5, why="a deeper lip drowns and runs as an orifice"),),
    ),
    Equation(
        title="Flow into a drowned lip",
        relation=ORIFICE,
        symbols=named("Q", "C_d lip", "D lip", "h lip", "g"),
        function=formulas.lip_orifice_flow,
        source=LIP,
        assumptions=("The lip is drowned all round and air reaches the standpipe below it.",),
        limits=(Limit.ratio("h", "D", low=0.388, high=1e3, why="a shallower lip runs as a weir"),),
    ),
    Equation(
        title="Where the lip turns from weir to orifice",
        relation="x = C_d*sqrt(2*g)/(4*C_w)",
        symbols=named("x crossing", "C_w", "C_d lip", "g"),
        function=formulas.lip_crossing,
        source=CROSSING,
    ),
    Equation(
        title="Flow over a lip at any head",
        relation=WEIR,
        symbols=named("Q", "C_w", "C_d lip", "D lip", "h lip", "g"),
        function=formulas.lip_flow,
        source=LIP,
        assumptions=("The lip carries the lesser of the weir's and the orifice's flow.",),
        choose=lip_branch,
    ),
    Equation(
        title="Head over a lip at a flow",
        relation=WEIR_HEAD,
        symbols=named("h lip", "C_w", "C_d lip", "D lip", "Q", "g"),
        function=formulas.lip_head,
        source=LIP,
        assumptions=("The lip carries the lesser of the weir's and the orifice's flow.",),
        choose=lambda values: lip_branch({k: v for k, v in values.items() if k != "h"}, by_head=False),
    ),
)
