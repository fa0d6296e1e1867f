"""Outside values for the loss coefficients of the table of fittings.

Where one work gives the value it is held to its printed digits. Where authors
differ, the middle is held to their mean and the ends to their span; the table
rounds the ends outward to 0.01.
"""

from __future__ import annotations

from functools import lru_cache

from .cases import Cell

HI = "Hydraulic Institute Engineering Data Book"
CHART = HI + ", chart of screwed fittings, 1 in, read off a graph to 10 %"
CRANE = "Crane TP-410"
BORE = 0.0266
RE = 3e4
#: Middles of authors that differ by more than 3 %: the mean is known no better than this.
AUTHORS = 0.016


def _cell(name, column, printed, source, status, margin=0.0):
    return Cell("fittings", {"name": name}, column, printed, "", source, status, margin=margin)


def _triple(name, k, low, high, source, status):
    """One work gives all three to the last digit."""
    for column, printed in (("k", k), ("k_low", low), ("k_high", high)):
        if printed:
            yield _cell(name, column, printed, source, status)


@lru_cache(maxsize=1)
def _authors():
    """fitting -> K by author, from the reference library at the bore and flow that the table names."""
    from fluids.fittings import bend_rounded, contraction_sharp

    found = {}
    for name, radius, angle in (
        ("bend 90, swept", 1.5, 90),
        ("bend 90, short", 1.0, 90),
        ("bend 45, swept", 1.5, 45),
    ):
        found[name] = {
            m: bend_rounded(Di=BORE, angle=angle, bend_diameters=radius, Re=RE, roughness=2.1e-6, method=m)
            for m in ("Crane", "Ito", "Miller", "Rennels")
        }
    for name, ratio in (
        ("contraction to 0.5", 0.5),
        ("contraction to 0.7", 0.5**0.5),
        ("contraction to 0.9", 0.9),
    ):
        found[name] = {
            m: contraction_sharp(Di1=1.0, Di2=ratio, fd=0.0236, Re=RE, roughness=1e-5, method=m)
            for m in ("Crane", "Hooper", "Rennels")
        }
    return found


def _by_authors():
    for name, ks in _authors().items():
        who = f"fluids 1.3.1: {', '.join(ks)} at bore 26.6 mm, Re 30 000"
        for column, value, margin in (
            ("k", sum(ks.values()) / len(ks), AUTHORS),
            ("k_low", min(ks.values()), 0.0101),
            ("k_high", max(ks.values()), 0.0101),
        ):
            yield _cell(name, column, f"{value:.3f}", who, "reference library", margin)


def _entrances():
    yield from _triple("entrance, square", "0.50", "0.50", "", CRANE + ", sharp entrance", "from memory")
    yield _cell("entrance, square", "k_high", "0.57", "fluids 1.3.1, Rennels", "reference library")
    for column, printed, who in (
        ("k", "0.113", "Idelchik"),
        ("k_low", "0.082", "Miller"),
        ("k_high", "0.203", "Rennels"),
    ):
        said = f"fluids 1.3.1, {who}, edge of a tenth of the bore"
        yield _cell("entrance, rounded", column, printed, said, "reference library", 0.0035)
    wall = "a projecting pipe of ordinary PVC wall acts nearer 0.5 to 0.6 than 1.0"
    yield from _triple("entrance, projecting", "0.60", "0.50", "1.00", wall, "from memory")


def _valves():
    # Three and eight times the friction factor of fully rough flow, Crane TP-410.
    yield _cell("ball valve, open", "k", "0.067", "fluids 1.3.1, Crane 3 f_T", "reference library", 0.004)
    yield _cell("gate valve, open", "k", "0.179", "fluids 1.3.1, Crane 8 f_T", "reference library", 0.004)


CELLS = (
    *_entrances(),
    *_triple("exit", "1.00", "1.00", "1.00", CRANE + ", exit", "from memory"),
    *_by_authors(),
    _cell("bend 90, sharp", "k", "1.129", HI + ", one 90 mitre, smooth", "read", 0.005),
    _cell("bend 90, sharp", "k_low", "1.129", HI + ", one 90 mitre, smooth", "read", 0.005),
    _cell("bend 90, sharp", "k_high", "1.265", HI + ", one 90 mitre, rough", "read", 0.0051),
    *_triple("bend 90, screwed", "1.50", "1.35", "1.65", CHART, "read"),
    *_triple("bend 45", "0.33", "0.30", "0.36", CHART, "read"),
    *_triple("tee, in line", "0.90", "0.81", "0.99", CHART, "read"),
    *_triple("tee, branch", "1.80", "1.62", "1.98", CHART, "read"),
    _cell("two 45s", "k_low", "0.261", HI + ", two 45 mitres, smooth, spacing 1.42", "read", 0.005),
    _cell("two 45s", "k_high", "0.510", HI + ", two 45 mitres, rough, spacing 0.71", "read", 0.005),
    _cell(
        "contraction, cone",
        "k_low",
        "0.03",
        "fluids 1.3.1, cone 50 to 40 mm at 30 degrees",
        "reference library",
    ),
    _cell(
        "contraction, cone",
        "k_high",
        "0.09",
        "fluids 1.3.1, cone 50 to 40 mm at 30 degrees",
        "reference library",
    ),
    _cell("contraction, cone", "k", "0.06", "middle of 0.03 to 0.09", "derived"),
    *_triple("enlargement from 0.7", "0.250", "0.250", "0.250", "Borda-Carnot, b 0.7071", "derived"),
    _cell("enlargement from 0.5", "k", "0.5625", "Borda-Carnot, b 0.5", "derived", 0.005),
    _cell("enlargement from 0.5", "k_low", "0.5625", "Borda-Carnot, b 0.5", "derived", 0.005),
    _cell("enlargement from 0.5", "k_high", "0.5625", "Borda-Carnot, b 0.5", "derived", 0.0076),
    *_valves(),
)
