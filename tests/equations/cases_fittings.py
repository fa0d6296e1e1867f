"""Values for the loss coefficients of the table of fittings.

Where one work gives the value it is held to its printed digits. Where authors
differ, the table takes their mean and their least and greatest value to three
decimals, and each is worked out again here from the reference library: the
tolerance is half of the table's last decimal.
"""

from __future__ import annotations

from functools import lru_cache

from aquacalc.evidence.kinds import MEMORY, READ

from .cases import Cell
from .cases_losses import CHART, fluids
from .works import CRANE, HI, MUNSON, cite, own, practice

SMOOTH = cite(HI, "figure of mitre bends, one 90, smooth", READ)
ROUGH = cite(HI, "figure of mitre bends, one 90, rough", READ)
BORE = 0.0266
RE = 3e4
ROUGHNESS = 2.1e-6
#: Half of the third decimal, which the table is rounded to (and the rounding of a float).
THIRD = 0.0005 * (1.0 + 1e-9)
#: A printed value is copied, not measured: it is the same or it is wrong.
SAME = 1e-9


def _cell(name, column, printed, cited, margin=0.0):
    return Cell("fittings", {"name": name}, column, printed, "", cited, margin=margin)


def _triple(name, k, low, high, cited):
    """One work gives all three to the last digit."""
    for column, printed in (("k", k), ("k_low", low), ("k_high", high)):
        if printed:
            yield _cell(name, column, printed, cited)


@lru_cache(maxsize=1)
def by_author() -> dict[str, dict[str, float]]:
    """Fitting -> K by author, from the reference library at the bore and flow that the table names."""
    from fluids import friction_factor
    from fluids.fittings import bend_rounded, contraction_conical, contraction_sharp

    f = friction_factor(Re=RE, eD=ROUGHNESS / BORE)
    found = {}
    for name, radius, angle in (
        ("bend 90, swept", 1.5, 90),
        ("bend 90, short", 1.0, 90),
        ("bend 45, swept", 1.5, 45),
    ):
        found[name] = {
            m: bend_rounded(Di=BORE, angle=angle, bend_diameters=radius, Re=RE, roughness=ROUGHNESS, method=m)
            for m in ("Crane", "Ito", "Miller", "Rennels")
        }
    for name, ratio in (
        ("contraction to 0.5", 0.5),
        ("contraction to 0.7", 0.5**0.5),
        ("contraction to 0.9", 0.9),
    ):
        found[name] = {
            m: contraction_sharp(Di1=BORE / ratio, Di2=BORE, fd=f, Re=RE, roughness=ROUGHNESS, method=m)
            for m in ("Crane", "Hooper", "Rennels")
        }
    # Swamee's fit gives four times the others' mean.
    found["contraction, cone"] = {
        m: contraction_conical(Di1=0.050, Di2=0.040, angle=30, fd=f, Re=RE, roughness=ROUGHNESS, method=m)
        for m in ("Crane", "Hooper", "Idelchik", "Blevins", "Miller", "Rennels")
    }
    return found


def _by_author():
    for name, ks in by_author().items():
        function = "bend_rounded" if "bend" in name else "contraction_sharp"
        if "cone" in name:
            function = "contraction_conical"
        at = "bore 50 to 40 mm" if "cone" in name else "bore 26.6 mm"
        for column, value, which in (
            ("k", sum(ks.values()) / len(ks), "mean"),
            ("k_low", min(ks.values()), "least"),
            ("k_high", max(ks.values()), "greatest"),
        ):
            said = fluids(f"{function}, {which} of {', '.join(ks)} at {at}, Re 30 000")
            yield _cell(name, column, f"{value:.4f}", said, THIRD)


def _entrances():
    from fluids.fittings import entrance_distance, entrance_rounded

    yield from _triple("entrance, square", "0.50", "0.50", "", cite(HI, "example of losses, entrance", READ))
    yield _cell("entrance, square", "k_high", "0.57", fluids("entrance_sharp, Rennels"))
    for column, who in (("k", "Idelchik"), ("k_low", "Miller"), ("k_high", "Rennels")):
        value = entrance_rounded(Di=BORE, rc=0.1 * BORE, method=who)
        said = fluids(f"entrance_rounded, {who}, edge of a tenth of the bore")
        yield _cell("entrance, rounded", column, f"{value:.4f}", said, THIRD)
    wall = practice("a projecting pipe of ordinary PVC wall acts nearer 0.5 to 0.6 than 1.0")
    yield _cell("entrance, projecting", "k", "0.60", wall)
    for column, t, what in (("k_low", 0.05 * BORE, "thick wall"), ("k_high", 0.0, "no wall")):
        value = entrance_distance(Di=BORE, t=t, method="Idelchik")
        said = fluids(f"entrance_distance, Idelchik, {what}")
        yield _cell("entrance, projecting", column, f"{value:.4f}", said, THIRD)


def _valves():
    from fluids.fittings import Hooper2K, ft_Crane

    hooper = Hooper2K(Di=BORE / 0.0254, Re=RE, name="Valve, Gate, Full line size, Beta = 1")
    for name, times, printed in (("ball valve, open", 3, "0.05"), ("gate valve, open", 8, "0.15")):
        rough = fluids(f"ft_Crane, {times} times")
        yield _cell(name, "k", f"{times * ft_Crane(BORE):.4f}", rough, THIRD)
        table = cite(MUNSON, "table 8.2, fully open", MEMORY)
        yield _cell(name, "k_low", printed, table, SAME)
        said = fluids("Hooper2K, gate, ball and plug valves of full bore")
        yield _cell(name, "k_high", f"{hooper:.4f}", said, THIRD)


CELLS = (
    *_entrances(),
    *_triple("exit", "1.00", "1.00", "1.00", cite(HI, "example of losses, exit", READ)),
    *_triple("exit", "1.00", "1.00", "1.00", cite(CRANE, "exits", MEMORY)),
    *_by_author(),
    _cell("bend 90, sharp", "k", "1.129", SMOOTH),
    _cell("bend 90, sharp", "k_low", "1.129", SMOOTH),
    _cell("bend 90, sharp", "k_high", "1.265", ROUGH),
    *_triple("bend 90, screwed", "1.50", "1.35", "1.65", CHART),
    *_triple("bend 45", "0.33", "0.30", "0.36", CHART),
    *_triple("tee, in line", "0.90", "0.81", "0.99", CHART),
    *_triple("tee, branch", "1.80", "1.62", "1.98", CHART),
    *_triple("clean-out", "0.90", "0.81", "0.99", CHART),
    *_triple("union", "0.08", "0.08", "0.08", cite(MUNSON, "table 8.2, threaded union", MEMORY)),
    *_triple("union", "0.0800", "0.0800", "0.0800", own("the one printed value, taken as it is")),
    _cell("two 45s", "k_low", "0.261", cite(HI, "figure of mitre bends, two 45, smooth, spacing 1.42", READ)),
    _cell("two 45s", "k_high", "0.510", cite(HI, "figure of mitre bends, two 45, rough, spacing 0.71", READ)),
    *_triple("enlargement from 0.7", "0.250", "0.250", "0.250", own("(1 - b²)² at b 0.7071")),
    *_triple("enlargement from 0.5", "0.5625", "0.5625", "0.5625", own("(1 - b²)² at b 0.5")),
    *_valves(),
)
