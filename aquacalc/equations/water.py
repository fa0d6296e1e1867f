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
    symbol = Symbol("r", "r", "reduced temperature", "(T + 273.15)/300", "number", 0.9, 1.2, "liquid water")
    return Choice(VISCOSITY_RELATION, f"r = (T + 273.15)/300 = {r:.5f}.", ((symbol, r),))


def _vapour_terms(values: dict[str, float]) -> Choice:
    """Give s, the distance from the critical point; 1 - s is the temperature over the critical one."""
    s = 1.0 - (values["T"] + 273.15) / 647.096
    symbol = Symbol(
        "s", "s", "reduced distance", "1 - (T + 273.15)/647.096", "number", 0.0, 1.0, "liquid water"
    )
    return Choice(VAPOUR_RELATION, f"s = 1 - (T + 273.15)/647.096 = {s:.5f}.", ((symbol, s),))


_T = size(
    "T",
    "T",
    "temperature",
    "temperature of the water in degC",
    "temperature",
    0.0,
    60.0,
    "liquid water in the range held against IAPWS",
)
_rho = size(
    "rho", r"\rho", "density", "density of water", "density", 980.0, 1000.1, "fresh water from 0 to 60 degC"
)
_mu = size(
    "mu",
    r"\mu",
    "dynamic viscosity",
    "dynamic viscosity of water",
    "dynamic_viscosity",
    0.46e-3,
    1.8e-3,
    "fresh water from 0 to 60 degC",
)

EQUATIONS = (
    Equation(
        "water_density",
        "Density of water",
        "rho = (999.83952 + T*(16.945176 + T*(-0.0079870401 + T*(-0.000046170461 + T*(0.00000010556302"
        " - 0.00000000028054253*T)))))/(1 + 0.01687985*T)",
        (_rho, _T),
        formulas.water_density,
        KELL,
        ("Fresh, at 1 atm.",),
    ),
    Equation(
        "water_viscosity",
        "Dynamic viscosity of water",
        VISCOSITY_RELATION,
        (_mu, _T),
        formulas.water_viscosity,
        PATEK,
        ("Fresh, at ordinary pressure.",),
        choose=_viscosity_terms,
    ),
    Equation(
        "kinematic_viscosity",
        "Kinematic viscosity",
        "nu = mu/rho",
        (
            size(
                "nu",
                r"\nu",
                "viscosity",
                "kinematic viscosity of water",
                "viscosity",
                0.28e-6,
                1.8e-6,
                "liquid water",
            ),
            _mu,
            _rho,
        ),
        kinematic_viscosity,
        Source("definition", "", "derived"),
    ),
    Equation(
        "vapour_pressure",
        "Vapour pressure of water",
        VAPOUR_RELATION,
        (
            vapour_pressure,
            _T,
        ),
        formulas.vapour_pressure,
        WAGNER,
        choose=_vapour_terms,
    ),
)
