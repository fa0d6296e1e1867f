"""Wall friction in a full pipe."""

from __future__ import annotations

import math

from aquacalc.equations import formulas, losses
from aquacalc.equations.record import Choice, Equation, Source
from aquacalc.equations.sources import CONTINUITY, ENERGY
from aquacalc.equations.symbols import named

REYNOLDS = Source(
    "Reynolds 1883",
    "Munson, Young & Okiishi, Fundamentals of Fluid Mechanics, Ex. 6.10, as recomputed by others",
    "read",
)
LAMINAR = Source(
    "Hagen 1839, Poiseuille 1840; limits 2000 and 4000 of the Hydraulic Institute",
    "Hydraulic Institute Engineering Data Book",
    "read",
)
COLEBROOK = Source("Colebrook 1939, J. Inst. Civ. Eng.", "fluids 1.3.1 documentation", "read")
HAALAND = Source("Haaland 1983, J. Fluids Eng.", "fluids 1.3.1 documentation", "read")
SWAMEE_JAIN = Source("Swamee & Jain 1976, J. Hydraulics Div. ASCE", "fluids 1.3.1 documentation", "read")
JOINED = Source(
    "laminar and Colebrook, joined from Re 2000 to 4000 by a cubic that meets both in value and slope",
    "",
    "derived",
)

COLEBROOK_RELATION = "1/sqrt(f) = -2*log10(e/3.7 + 2.51/(Re*sqrt(f)))"
LAMINAR_RELATION = "f = 64/Re"
JOIN_RELATION = "f = f_0*(1 + 2*s)*(1 - s)**2 + f_1*s**2*(3 - 2*s) + w*(m_0*s*(1 - s)**2 - m_1*s**2*(1 - s))"


def mean_velocity(Q, A):
    """Mean velocity (m/s) of flow `Q` (m3/s) through area `A` (m2)."""
    return Q / A


def pipe_velocity(Q, D):
    """Mean velocity (m/s) of flow `Q` (m3/s) in a full bore `D` (m)."""
    return 4.0 * Q / (math.pi * D**2)


def reynolds(v, D, nu):
    """Reynolds number of velocity `v` (m/s) in a bore `D` (m), viscosity `nu` (m2/s)."""
    return v * D / nu


def relative_roughness(eps, D):
    """Wall roughness `eps` over bore `D` (both m)."""
    return eps / D


def haaland(Re, e):
    """Darcy friction factor by Haaland; for comparison only."""
    return (-1.8 * math.log10((e / 3.7) ** 1.11 + 6.9 / Re)) ** -2


def swamee_jain(Re, e):
    """Darcy friction factor by Swamee and Jain; for comparison only."""
    return 0.25 / math.log10(e / 3.7 + 5.74 / Re**0.9) ** 2


def friction_head(f, L, D, v, g):
    """Head (m) lost to wall friction along `L` (m)."""
    return f * L / D * v**2 / (2.0 * g)


def run_head(f, L, D, K, Q, A, g):
    """Head (m) lost in a run: wall friction and the fittings' `K` on one velocity."""
    return (f * L / D + K) * (Q / A) ** 2 / (2.0 * g)


def _join_terms(e: float) -> dict[str, float]:
    """Values and slopes at both ends of the join."""
    start, end = formulas.LAMINAR_END, formulas.TURBULENT_START
    f_1 = formulas.friction_colebrook(end, e)
    # Colebrook's own slope, by differentiating it implicitly.
    inside = e / 3.7 + 2.51 / (end * math.sqrt(f_1))
    bend = 2.0 / math.log(10.0) * 2.51 / (inside * end)
    m_1 = -2.0 * f_1 * bend / (end * (1.0 + bend))
    return {"f_0": 64.0 / start, "f_1": f_1, "m_0": -64.0 / start**2, "m_1": m_1, "w": end - start}


def friction_branch(values: dict[str, float]) -> Choice:
    """Say which friction law holds at the Reynolds number."""
    Re, e = values["Re"], values["e"]
    start, end = formulas.LAMINAR_END, formulas.TURBULENT_START
    if Re <= start:
        return Choice(LAMINAR_RELATION, f"Re = {Re:.0f} is not above {start:.0f}, so the flow is laminar.")
    if Re >= end:
        sentence = f"Re = {Re:.0f} is not below {end:.0f}, so the flow is turbulent."
        return Choice(COLEBROOK_RELATION, sentence)
    terms = _join_terms(e) | {"s": (Re - start) / (end - start)}
    looked_up = tuple((named(f"{key} join")[0], value) for key, value in terms.items())
    sentence = (
        f"Re = {Re:.0f} is between {start:.0f} and {end:.0f}, where flow is neither laminar nor turbulent; "
        "the two are joined smoothly and the result is uncertain."
    )
    return Choice(JOIN_RELATION, sentence, looked_up)


EQUATIONS = (
    Equation(
        title="Mean velocity",
        relation="v = Q/A",
        symbols=named("v", "Q", "A"),
        function=mean_velocity,
        source=CONTINUITY,
    ),
    Equation(
        title="Mean velocity in a full pipe",
        relation="v = 4*Q/(pi*D**2)",
        symbols=named("v", "Q", "D"),
        function=pipe_velocity,
        source=CONTINUITY,
    ),
    Equation(
        title="Reynolds number",
        relation="Re = v*D/nu",
        symbols=named("Re", "v", "D", "nu"),
        function=reynolds,
        source=REYNOLDS,
    ),
    Equation(
        title="Relative roughness",
        relation="e = eps/D",
        symbols=named("e", "eps", "D"),
        function=relative_roughness,
        source=Source("definition", "", "derived"),
    ),
    Equation(
        title="Friction factor, laminar",
        relation=LAMINAR_RELATION,
        symbols=named("f any", "Re laminar"),
        function=formulas.friction_laminar,
        source=LAMINAR,
    ),
    Equation(
        title="Friction factor, Colebrook",
        relation=COLEBROOK_RELATION,
        symbols=named("f", "Re turbulent", "e"),
        function=formulas.friction_colebrook,
        source=COLEBROOK,
    ),
    Equation(
        key="friction_haaland",
        title="Friction factor, Haaland (for comparison)",
        relation="1/sqrt(f) = -1.8*log10((e/3.7)**1.11 + 6.9/Re)",
        symbols=named("f", "Re turbulent", "e"),
        function=haaland,
        source=HAALAND,
    ),
    Equation(
        key="friction_swamee_jain",
        title="Friction factor, Swamee-Jain (for comparison)",
        relation="f = 0.25/log10(e/3.7 + 5.74/Re**0.9)**2",
        symbols=named("f", "Re turbulent", "e"),
        function=swamee_jain,
        source=SWAMEE_JAIN,
    ),
    Equation(
        title="Friction factor at any Reynolds number",
        relation=COLEBROOK_RELATION,
        symbols=named("f any", "Re", "e"),
        function=formulas.friction_factor,
        source=JOINED,
        assumptions=(
            "Between Re 2000 and 4000 the true value jumps back and forth; the join is a convention.",
        ),
        choose=friction_branch,
    ),
    Equation(
        title="Velocity head",
        relation="h_v = v**2/(2*g)",
        symbols=named("h_v", "v", "g"),
        function=losses.velocity_head,
        source=ENERGY,
    ),
    Equation(
        title="Head lost in a fitting",
        relation="h_L = K*v**2/(2*g)",
        symbols=named("h_L", "K fitting", "v", "g"),
        function=losses.loss_head,
        source=ENERGY,
    ),
    Equation(
        title="Head lost to wall friction (Darcy-Weisbach)",
        relation="h_f = f*L/D*v**2/(2*g)",
        symbols=named("h_f", "f", "L", "D", "v", "g"),
        function=friction_head,
        source=ENERGY,
        assumptions=("The pipe runs full and the flow is steady.",),
    ),
    Equation(
        title="Head lost in a run of pipe",
        relation="h = (f*L/D + K)*(Q/A)**2/(2*g)",
        symbols=named("h run", "f", "L", "D", "K run", "Q", "A", "g"),
        function=run_head,
        source=ENERGY,
        assumptions=("The pipe runs full and the flow is steady.",),
    ),
)
