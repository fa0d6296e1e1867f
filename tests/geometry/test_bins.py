"""Three old bins on blocks beside a sump: what a builder would refuse, and the same mended."""

import pytest

from aquacalc.buildsheet.cut_list import cut_list
from aquacalc.buildsheet.stock import Workshop
from aquacalc.findings import find
from aquacalc.plan import plan_from_text
from aquacalc.results.cycle import run_plan

pytestmark = pytest.mark.identity
BIN = """
[[bed]]
name = "bin {n}"
shape = "rectangular"
length = "700 mm"
width = "450 mm"
depth = "400 mm"
floor = "0.400 m"
media = "gravel"
media_depth = "330 mm"
empty_mass = "6 kg"
strainer = {{ kind = "slots", count = 30, width = "3 mm", length = "25 mm" }}
"""
RUN = """
[[run]]
from = "bin {n}"
to = "chamber"
series = "ISO 1452 PN16"
size = "32 mm"
{way}
"""
REST = """
[[chamber]]
name = "chamber"
shape = "rectangular"
length = "400 mm"
width = "400 mm"
depth = "560 mm"
floor = "0.250 m"

[[siphon]]
name = "siphon"
host = "chamber"

[siphon.standpipe]
series = "ISO 1452 PN16"
size = "32 mm"
height = "450 mm"

[siphon.bell]
series = "ISO 1452 PN16"
size = "90 mm"
top_height = "490 mm"
rim_height = "30 mm"
openings = 4
opening_width = "35 mm"
opening_height = "25 mm"

[siphon.tail]
series = "ISO 1452 PN16"
size = "32 mm"
{tail}

[sump]
shape = "rectangular"
length = "900 mm"
width = "700 mm"
depth = "600 mm"
floor = "-0.450 m"
water_level = "430 mm"
measured_with = "beds drained"

[pump]
flow = "20 L/min"
intake = "80 mm"
"""


def bins(way, tail):
    head = '[plan]\nname = "Bins on blocks"\nnote = "All numbers are invented."\ndatum = "yard"\n'
    beds = "".join(BIN.format(n=n) for n in (1, 2, 3))
    runs = "".join(RUN.format(n=n, way=way) for n in (1, 2, 3))
    return plan_from_text(head + beds + runs + REST.format(tail=tail))


REFUSED = bins(
    'length = "0.6 m"\nfittings = ["entrance, square", "2 x bend 90, sharp", "exit"]\noutfall = "0.360 m"',
    'length = "0.5 m"\nfittings = ["bend 90, sharp", "exit"]\noutlet = "0.060 m"',
)
MENDED = bins(
    'legs = ["down 80 mm", "along 620 mm"]\nfittings = ["entrance, square", "bend 90, sharp", "exit"]',
    'legs = ["down 75 mm", "along 300 mm", "down 80 mm"]\nfittings = ["2 x bend 90, sharp", "exit"]\n'
    'outlet = "0.095 m"',
)


def said(plan):
    return {(f.key, f.subject): f for f in find(run_plan(plan, trace=False)) if f.state != "good"}


def test_each_fault_has_its_place_and_mend():
    found = said(REFUSED)
    for n in (1, 2, 3):
        short = found["piece_short", f"bin {n} to chamber"]
        # 400 down to 360 and half a bore of 27.2: 26.4; wall 5, seal 15, socket 22, half the outside and 1.
        assert short.value == pytest.approx(0.400 - 0.360 - 0.0136, abs=1e-6)
        assert short.limit == pytest.approx(0.005 + 0.015 + 0.022 + 0.016 + 0.001, abs=1e-6)
        assert short.change
    wall = found["tail_wall", "siphon: tail"]
    assert wall.value == pytest.approx(0.060 + 0.0136 - 0.016, abs=1e-6)
    assert wall.limit == pytest.approx(0.150)
    assert wall.change
    assert any(not cut.fits for cut in cut_list(REFUSED, Workshop()).cuts)


def test_mended_it_can_be_built():
    keys = {key for key, _ in said(MENDED)}
    assert keys.isdisjoint({"piece_short", "tail_wall", "hole_edge", "overlap", "line_climbs"}), keys
    cuts = cut_list(MENDED, Workshop()).cuts
    assert [c.mark for c in cuts if not c.fits] == []
    assert [c.mark for c in cuts if c.sure is None] == []
