"""Outside values for the loss coefficients of the table of fittings.

Where one work gives the value it is held to its printed digits. Where authors
differ, the table takes their mean and their least and greatest value to three
decimals, and each is worked out again here from the reference library: the
tolerance is half of the table's last decimal.
"""

from __future__ import annotations

from functools import lru_cache

from .cases import Cell

HI = "Hydraulic Institute Engineering Data Book"
CHART = HI + ", chart of screwed fittings, 1 in, read off a graph to 10 %"
CRANE = "Crane TP-410"
BORE = 0.0266
RE = 3e4
ROUGHNESS = 2.1e-6
FLUIDS = "fluids 1.3.1"
#: Half of the third decimal, which the table is rounded to (and the rounding of a float).
THIRD = 0.0005 * (1.0 + 1e-9)
#: A printed value is copied, not measured: it is the same or it is wrong.
SAME = 1e-9


def _cell(name, column, printed, source, status, margin=0.0):
    return Cell("fittings", {"name": name}, column, printed, "", source, status, margin=margin)


def _triple(name, k, low, high, source, status):
    """One work gives all three to the last digit."""
    for column, printed in (("k", k), ("k_low", low), ("k_high", high)):
        if printed:
            yield _cell(name, column, printed, source, status)


@lru_cache(maxsize=1)
def by_author() -> dict[str, dict[str, float]]:
    """Fitting -> K by author, from the reference library at the bore and flow that the table names."""
    import fluids
    from fluids.fittings import bend_rounded, contraction_conical, contraction_sharp

    f = fluids.friction_factor(Re=RE, eD=ROUGHNESS / BORE)
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
        at = "bore 50 to 40 mm" if "cone" in name else "bore 26.6 mm"
        who = f"{FLUIDS}: {', '.join(ks)} at {at}, Re 30 000"
        for column, value, which in (
            ("k", sum(ks.values()) / len(ks), "mean"),
            ("k_low", min(ks.values()), "least"),
            ("k_high", max(ks.values()), "greatest"),
        ):
            yield _cell(name, column, f"{value:.4f}", f"{who}, {which}", "reference library", THIRD)


def _entrances():
    from fluids.fittings import entrance_rounded

    yield from _triple("entrance, square", "0.50", "0.50", "", CRANE + ", sharp entrance", "from memory")
    yield _cell("entrance, square", "k_high", "0.57", FLUIDS + ", Rennels", "reference library")
    for column, who in (("k", "Idelchik"), ("k_low", "Miller"), ("k_high", "Rennels")):
        value = entrance_rounded(Di=BORE, rc=0.1 * BORE, method=who)
        said = f"{FLUIDS}, {who}, edge of a tenth of the bore"
        yield _cell("entrance, rounded", column, f"{value:.4f}", said, "reference library", THIRD)
    wall = "a projecting pipe of ordinary PVC wall acts nearer 0.5 to 0.6 than 1.0"
    yield from _triple("entrance, projecting", "0.60", "0.50", "1.00", wall, "from memory")


def _valves():
    from fluids.fittings import Hooper2K, ft_Crane

    hooper = Hooper2K(Di=BORE / 0.0254, Re=RE, name="Valve, Gate, Full line size, Beta = 1")
    for name, times, printed in (("ball valve, open", 3, "0.05"), ("gate valve, open", 8, "0.15")):
        rough = times * ft_Crane(BORE)
        yield _cell(name, "k", f"{rough:.4f}", f"{FLUIDS}, Crane {times} f_T", "reference library", THIRD)
        yield _cell(name, "k_low", printed, "textbook tables, fully open", "from memory", SAME)
        said = FLUIDS + ", Hooper 1981, gate, ball and plug valves of full bore"
        yield _cell(name, "k_high", f"{hooper:.4f}", said, "reference library", THIRD)


CELLS = (
    *_entrances(),
    *_triple("exit", "1.00", "1.00", "1.00", CRANE + ", exit", "from memory"),
    *_by_author(),
    _cell("bend 90, sharp", "k", "1.129", HI + ", one 90 mitre, smooth", "read"),
    _cell("bend 90, sharp", "k_low", "1.129", HI + ", one 90 mitre, smooth", "read"),
    _cell("bend 90, sharp", "k_high", "1.265", HI + ", one 90 mitre, rough", "read"),
    *_triple("bend 90, screwed", "1.50", "1.35", "1.65", CHART, "read"),
    *_triple("bend 45", "0.33", "0.30", "0.36", CHART, "read"),
    *_triple("tee, in line", "0.90", "0.81", "0.99", CHART, "read"),
    *_triple("tee, branch", "1.80", "1.62", "1.98", CHART, "read"),
    _cell("two 45s", "k_low", "0.261", HI + ", two 45 mitres, smooth, spacing 1.42", "read"),
    _cell("two 45s", "k_high", "0.510", HI + ", two 45 mitres, rough, spacing 0.71", "read"),
    *_triple("enlargement from 0.7", "0.250", "0.250", "0.250", "Borda-Carnot, b 0.7071", "derived"),
    *_triple("enlargement from 0.5", "0.5625", "0.5625", "0.5625", "Borda-Carnot, b 0.5", "derived"),
    *_valves(),
)
