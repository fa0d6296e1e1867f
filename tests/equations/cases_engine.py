"""Outside values for the constants that the engine takes (`aquacalc.evidence.engine`)."""

from __future__ import annotations

from .cases import Constant

KING = "King County Surface Water Design Manual, riser"
CGPM = "CGPM 1901, standard gravity"
MEMORY = "from memory"

CONSTANTS = (
    Constant("gravity of the engine", "9.80665", CGPM, MEMORY),
    Constant("gravity of pipe losses", "9.80665", CGPM, MEMORY),
    Constant("pipe mouth as a weir: Q/(D H^1.5), ft", "9.739", KING, MEMORY, within=0.002),
    Constant("openings of a bell's foot: Q/(D² H^0.5), ft", "3.782", KING, MEMORY, within=0.002),
    Constant(
        "openings of a bell's foot: discharge coefficient",
        "0.60 to 0.62",
        "FHWA HEC-22, sharp orifice",
        MEMORY,
    ),
    Constant("turn over the lip: loss coefficient", "1.00", "Crane TP-410, exit", MEMORY),
    Constant("lip as a weir, where a plan gives nothing", "1.71", KING + ", 9.739 over pi, in SI", "derived"),
    Constant(
        "lip as an orifice, where a plan gives nothing: Q/(D² H^0.5), ft", "3.782", KING, MEMORY, within=0.002
    ),
    Constant(
        "strainer openings, where a plan gives nothing: Q/(D² H^0.5), ft", "3.782", KING, MEMORY, within=0.002
    ),
    Constant(
        "Froude number below which a bore vents itself",
        "0.30",
        "Hills 1983, Designing piping for gravity flow, Chem. Eng.",
        "read",
    ),
    Constant(
        "Froude number at which a siphon is taken to start",
        "0.53 to 0.61",
        "a lip's crossing from weir to orifice by King County (0.53) and EN 12056-3 (0.61)",
        "derived",
    ),
    Constant("Froude number above which a bore runs full", "1.00", "Simpson 1968, Chem. Eng.", MEMORY),
    Constant(
        "open area of a strainer over the bore, where a plan asks for none",
        "1.5",
        "at least 1.5 to 2 times the bore",
        "common practice, no source",
        margin=0.001,
    ),
)
