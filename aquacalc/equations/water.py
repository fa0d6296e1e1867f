"""Properties of water at ordinary pressure; T in degC."""

from __future__ import annotations

from aquacalc.equations import formulas
from aquacalc.equations.record import Choice, Equation, Source
from aquacalc.equations.symbols import named

KELL = Source("Kell 1975, J. Chem. Eng. Data 20:97", "", "from memory")
PATEK = Source(
    "Pátek, Hrubý, Klomfar, Součková & Harvey 2009, J. Phys. Chem. Ref. Data 38:21 (water at 0.1 MPa)",
    "iapws 1.5.5, coefficients of its liquid water at 0.1 MPa",
    "read",
)
WAGNER = Source(
    "Wagner & Pruss 1993, IAPWS SR1-86, saturation pressure of water",
    "iapws 1.5.5, coefficients of its saturation line",
    "read",
)


def kinematic_viscosity(mu, rho):
    """Kinematic viscosity (m2/s) from dynamic viscosity `mu` (Pa s) and density (kg/m3)."""
    return mu / rho


VISCOSITY_RELATION = "mu = (280.68/r**1.9 + 511.45/r**7.7 + 61.131/r**19.6 + 0.45903/r**40)/1000000"
VAPOUR_RELATION = (
    "p_v = 22064000*exp((-7.85951783*s + 1.84408259*s**1.5 - 11.7866497*s**3"
    " + 22.6807411*s**3.5 - 15.9618719*s**4 + 1.80122502*s**7.5)/(1 - s))"
)


def _viscosity_terms(values: dict[str, float]) -> Choice:
    """Give r, the reduced temperature, which the relation uses four times."""
    r = (values["T"] + 273.15) / 300.0
    return Choice(VISCOSITY_RELATION, f"r = (T + 273.15)/300 = {r:.5f}.", ((named("r temperature")[0], r),))


def _vapour_terms(values: dict[str, float]) -> Choice:
    """Give s, the distance from the critical point; 1 - s is the temperature over the critical one."""
    s = 1.0 - (values["T"] + 273.15) / 647.096
    return Choice(
        VAPOUR_RELATION, f"s = 1 - (T + 273.15)/647.096 = {s:.5f}.", ((named("s temperature")[0], s),)
    )


EQUATIONS = (
    Equation(
        title="Density of water",
        relation="rho = (999.83952 + T*(16.945176 + T*(-0.0079870401 + T*(-0.000046170461"
        " + T*(0.00000010556302 - 0.00000000028054253*T)))))/(1 + 0.01687985*T)",
        symbols=named("rho temperature", "T"),
        function=formulas.water_density,
        source=KELL,
        assumptions=("Fresh, at 1 atm.",),
    ),
    Equation(
        title="Dynamic viscosity of water",
        relation=VISCOSITY_RELATION,
        symbols=named("mu", "T"),
        function=formulas.water_viscosity,
        source=PATEK,
        assumptions=("Fresh, at ordinary pressure.",),
        choose=_viscosity_terms,
    ),
    Equation(
        title="Kinematic viscosity",
        relation="nu = mu/rho",
        symbols=named("nu", "mu", "rho temperature"),
        function=kinematic_viscosity,
        source=Source("definition", "", "derived"),
    ),
    Equation(
        title="Vapour pressure of water",
        relation=VAPOUR_RELATION,
        symbols=named("p_v", "T"),
        function=formulas.vapour_pressure,
        source=WAGNER,
        choose=_vapour_terms,
    ),
)
