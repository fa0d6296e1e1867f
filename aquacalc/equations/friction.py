"""Wall friction in a full pipe."""

from __future__ import annotations

import math

from aquacalc.equations import formulas, losses
from aquacalc.equations.common import (
    CONTINUITY,
    ENERGY,
    area,
    bore,
    flow,
    friction,
    g,
    head,
    loss,
    size,
    velocity,
)
from aquacalc.equations.record import Choice, Equation, Source, Symbol

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
    names = {
        "f_0": "laminar friction factor at Re 2000",
        "f_1": "turbulent friction factor at Re 4000",
        "m_0": "laminar slope at Re 2000",
        "m_1": "turbulent slope at Re 4000",
        "w": "width of the join in Re",
        "s": "share of the way across the join",
    }
    looked_up = tuple(
        (
            Symbol(
                key=key,
                latex=key,
                name=name,
                meaning=name,
                kind="number",
                low=-1e9,
                high=1e9,
                why="part of the join",
            ),
            terms[key],
        )
        for key, name in names.items()
    )
    sentence = (
        f"Re = {Re:.0f} is between {start:.0f} and {end:.0f}, where flow is neither laminar nor turbulent; "
        "the two are joined smoothly and the result is uncertain."
    )
    return Choice(JOIN_RELATION, sentence, looked_up)


_f = friction
_e = size(
    key="e",
    name="relative roughness",
    meaning="wall roughness over bore",
    kind="number",
    low=0.0,
    high=0.05,
    why="end of the Moody chart",
)
_Re_turbulent = size(
    key="Re",
    latex=r"\mathrm{Re}",
    name="Reynolds number",
    meaning="inertia over viscosity",
    kind="number",
    low=4000.0,
    high=1e8,
    why="below 4000 flow need not be turbulent; 1e8 is the end of the Moody chart",
)
_Re_laminar = size(
    key="Re",
    latex=r"\mathrm{Re}",
    name="Reynolds number",
    meaning="inertia over viscosity",
    kind="number",
    low=1.0,
    high=2000.0,
    why="above 2000 flow need not be laminar",
)
_Re = size(
    key="Re",
    latex=r"\mathrm{Re}",
    name="Reynolds number",
    meaning="inertia over viscosity",
    kind="number",
    low=1e-2,
    high=1e8,
)
_f_wide = size(
    key="f", name="friction factor", meaning="Darcy friction factor", kind="number", low=1e-6, high=1e4
)
_eps = size(
    key="eps",
    latex=r"\varepsilon",
    name="roughness",
    meaning="height of the wall's roughness",
    kind="roughness",
    low=0.0,
    high=0.005,
)
_L = size(key="L", name="length", meaning="length of pipe", kind="distance", low=0.0, high=1000.0)
_nu = size(
    key="nu",
    name="viscosity",
    meaning="kinematic viscosity of water",
    kind="viscosity",
    low=0.28e-6,
    high=1.8e-6,
    why="liquid water",
)

EQUATIONS = (
    Equation(
        key="mean_velocity",
        title="Mean velocity",
        relation="v = Q/A",
        symbols=(velocity(), flow(), area()),
        function=mean_velocity,
        source=CONTINUITY,
    ),
    Equation(
        key="pipe_velocity",
        title="Mean velocity in a full pipe",
        relation="v = 4*Q/(pi*D**2)",
        symbols=(velocity(), flow(), bore()),
        function=pipe_velocity,
        source=CONTINUITY,
    ),
    Equation(
        key="reynolds",
        title="Reynolds number",
        relation="Re = v*D/nu",
        symbols=(_Re, velocity(), bore(), _nu),
        function=reynolds,
        source=REYNOLDS,
    ),
    Equation(
        key="relative_roughness",
        title="Relative roughness",
        relation="e = eps/D",
        symbols=(_e, _eps, bore()),
        function=relative_roughness,
        source=Source("definition", "", "derived"),
    ),
    Equation(
        key="friction_laminar",
        title="Friction factor, laminar",
        relation=LAMINAR_RELATION,
        symbols=(_f_wide, _Re_laminar),
        function=formulas.friction_laminar,
        source=LAMINAR,
    ),
    Equation(
        key="friction_colebrook",
        title="Friction factor, Colebrook",
        relation=COLEBROOK_RELATION,
        symbols=(_f, _Re_turbulent, _e),
        function=formulas.friction_colebrook,
        source=COLEBROOK,
    ),
    Equation(
        key="friction_haaland",
        title="Friction factor, Haaland (for comparison)",
        relation="1/sqrt(f) = -1.8*log10((e/3.7)**1.11 + 6.9/Re)",
        symbols=(_f, _Re_turbulent, _e),
        function=haaland,
        source=HAALAND,
    ),
    Equation(
        key="friction_swamee_jain",
        title="Friction factor, Swamee-Jain (for comparison)",
        relation="f = 0.25/log10(e/3.7 + 5.74/Re**0.9)**2",
        symbols=(_f, _Re_turbulent, _e),
        function=swamee_jain,
        source=SWAMEE_JAIN,
    ),
    Equation(
        key="friction_factor",
        title="Friction factor at any Reynolds number",
        relation=COLEBROOK_RELATION,
        symbols=(_f_wide, _Re, _e),
        function=formulas.friction_factor,
        source=JOINED,
        assumptions=(
            "Between Re 2000 and 4000 the true value jumps back and forth; the join is a convention.",
        ),
        choose=friction_branch,
    ),
    Equation(
        key="velocity_head",
        title="Velocity head",
        relation="h_v = v**2/(2*g)",
        symbols=(
            head(key="h_v", name="velocity head", meaning="height that the velocity is worth"),
            velocity(),
            g,
        ),
        function=losses.velocity_head,
        source=ENERGY,
    ),
    Equation(
        key="loss_head",
        title="Head lost in a fitting",
        relation="h_L = K*v**2/(2*g)",
        symbols=(
            head(key="h_L", name="head lost", meaning="head lost in the fitting"),
            loss(),
            velocity(),
            g,
        ),
        function=losses.loss_head,
        source=ENERGY,
    ),
    Equation(
        key="friction_head",
        title="Head lost to wall friction (Darcy-Weisbach)",
        relation="h_f = f*L/D*v**2/(2*g)",
        symbols=(
            head(key="h_f", name="head lost", meaning="head lost to wall friction"),
            _f,
            _L,
            bore(),
            velocity(),
            g,
        ),
        function=friction_head,
        source=ENERGY,
        assumptions=("The pipe runs full and the flow is steady.",),
    ),
    Equation(
        key="run_head",
        title="Head lost in a run of pipe",
        relation="h = (f*L/D + K)*(Q/A)**2/(2*g)",
        symbols=(
            head(key="h", name="head lost", meaning="head lost in the run"),
            _f,
            _L,
            bore(),
            loss(low=0.0),
            flow(),
            area(),
            g,
        ),
        function=run_head,
        source=ENERGY,
        assumptions=("The pipe runs full and the flow is steady.",),
    ),
)
