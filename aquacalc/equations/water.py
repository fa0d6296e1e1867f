"""Properties of water at ordinary pressure; T in degC."""

from __future__ import annotations

from aquacalc.equations import formulas
from aquacalc.equations.common import size, vapour_pressure
from aquacalc.equations.record import Choice, Equation, Source, Symbol

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
    symbol = Symbol(
        key="r",
        name="reduced temperature",
        meaning="(T + 273.15)/300",
        kind="number",
        low=0.9,
        high=1.2,
        why="liquid water",
    )
    return Choice(VISCOSITY_RELATION, f"r = (T + 273.15)/300 = {r:.5f}.", ((symbol, r),))


def _vapour_terms(values: dict[str, float]) -> Choice:
    """Give s, the distance from the critical point; 1 - s is the temperature over the critical one."""
    s = 1.0 - (values["T"] + 273.15) / 647.096
    symbol = Symbol(
        key="s",
        name="reduced distance",
        meaning="1 - (T + 273.15)/647.096",
        kind="number",
        low=0.0,
        high=1.0,
        why="liquid water",
    )
    return Choice(VAPOUR_RELATION, f"s = 1 - (T + 273.15)/647.096 = {s:.5f}.", ((symbol, s),))


_T = size(
    key="T",
    name="temperature",
    meaning="temperature of the water in degC",
    kind="temperature",
    low=0.0,
    high=60.0,
    why="liquid water in the range held against IAPWS",
)
_rho = size(
    key="rho",
    name="density",
    meaning="density of water",
    kind="density",
    low=980.0,
    high=1000.1,
    why="fresh water from 0 to 60 degC",
)
_mu = size(
    key="mu",
    name="dynamic viscosity",
    meaning="dynamic viscosity of water",
    kind="dynamic_viscosity",
    low=0.46e-3,
    high=1.8e-3,
    why="fresh water from 0 to 60 degC",
)

EQUATIONS = (
    Equation(
        key="water_density",
        title="Density of water",
        relation="rho = (999.83952 + T*(16.945176 + T*(-0.0079870401 + T*(-0.000046170461"
        " + T*(0.00000010556302 - 0.00000000028054253*T)))))/(1 + 0.01687985*T)",
        symbols=(_rho, _T),
        function=formulas.water_density,
        source=KELL,
        assumptions=("Fresh, at 1 atm.",),
    ),
    Equation(
        key="water_viscosity",
        title="Dynamic viscosity of water",
        relation=VISCOSITY_RELATION,
        symbols=(_mu, _T),
        function=formulas.water_viscosity,
        source=PATEK,
        assumptions=("Fresh, at ordinary pressure.",),
        choose=_viscosity_terms,
    ),
    Equation(
        key="kinematic_viscosity",
        title="Kinematic viscosity",
        relation="nu = mu/rho",
        symbols=(
            size(
                key="nu",
                name="viscosity",
                meaning="kinematic viscosity of water",
                kind="viscosity",
                low=0.28e-6,
                high=1.8e-6,
                why="liquid water",
            ),
            _mu,
            _rho,
        ),
        function=kinematic_viscosity,
        source=Source("definition", "", "derived"),
    ),
    Equation(
        key="vapour_pressure",
        title="Vapour pressure of water",
        relation=VAPOUR_RELATION,
        symbols=(vapour_pressure, _T),
        function=formulas.vapour_pressure,
        source=WAGNER,
        choose=_vapour_terms,
    ),
)
