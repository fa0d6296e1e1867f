"""The lip of a standpipe: a circular weir that passes into an orifice.

The band of the weir coefficient, SI per metre of lip: EN 12056-3 and HR
Wallingford SR 620 1.34; King County Surface Water Design Manual 1.71; sharp
crest 1.84. The middle one is taken.
"""

from __future__ import annotations

from aquacalc.equations import formulas
from aquacalc.equations.common import flow, g, size
from aquacalc.equations.record import Choice, Equation, Limit, Source

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

C_w = size(
    "C_w",
    "C_w",
    "weir coefficient",
    "flow per metre of lip at 1 m of head",
    "lip_coefficient",
    1.34,
    1.84,
    "published coefficients of a circular lip run from EN 12056-3 to the sharp crest",
    1.71,
)
C_d = size(
    "C_d",
    "C_d",
    "discharge coefficient",
    "share of the ideal flow that enters the drowned lip",
    "number",
    0.60,
    0.69,
    "published 0.60 (King County) to 0.606 (EN 12056-3); whole siphons in the laboratory 0.623 to 0.687",
    0.60,
)
D = size("D", "D", "lip diameter", "inside diameter of the lip", "length", 0.01, 1.0)
h = size(
    "h",
    "h",
    "lip head",
    "water level above the lip",
    "head",
    0.005,
    1.0,
    "below 5 to 8 mm surface tension makes a lip law unreliable",
)


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
        "lip_weir_flow",
        "Flow over a level lip",
        WEIR,
        (flow(), C_w, D, h),
        formulas.lip_weir_flow,
        LIP,
        ("The lip is level all round.", "Water falls freely inside the standpipe."),
        limits=(
            Limit("h/D", lambda v: v["h"] / v["D"], 0.0, 0.5, "a deeper lip drowns and runs as an orifice"),
        ),
    ),
    Equation(
        "lip_orifice_flow",
        "Flow into a drowned lip",
        ORIFICE,
        (flow(), C_d, D, h, g),
        formulas.lip_orifice_flow,
        LIP,
        ("The lip is drowned all round and air reaches the standpipe below it.",),
        limits=(Limit("h/D", lambda v: v["h"] / v["D"], 0.388, 1e3, "a shallower lip runs as a weir"),),
    ),
    Equation(
        "lip_crossing",
        "Where the lip turns from weir to orifice",
        "x = C_d*sqrt(2*g)/(4*C_w)",
        (
            size(
                "x",
                "h/D",
                "crossing",
                "head over lip diameter where both carry the same flow",
                "number",
                0.3,
                0.6,
            ),
            C_w,
            C_d,
            g,
        ),
        formulas.lip_crossing,
        CROSSING,
    ),
    Equation(
        "lip_flow",
        "Flow over a lip at any head",
        WEIR,
        (flow(), C_w, C_d, D, h, g),
        formulas.lip_flow,
        LIP,
        ("The lip carries the lesser of the weir's and the orifice's flow.",),
        choose=lip_branch,
    ),
    Equation(
        "lip_head",
        "Head over a lip at a flow",
        WEIR_HEAD,
        (h, C_w, C_d, D, flow(), g),
        formulas.lip_head,
        LIP,
        ("The lip carries the lesser of the weir's and the orifice's flow.",),
        choose=lambda values: lip_branch({k: v for k, v in values.items() if k != "h"}, by_head=False),
    ),
)
