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
{place}
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


#: Where each stands so that 620 mm lead from its middle to the chamber's wall, 200 mm from the chamber's.
PLACES = {n: f'x = "{x} m"\ny = "{y} m"' for n, x, y in ((1, -0.82, 0.0), (2, 0.0, 0.82), (3, 0.0, -0.82))}


def bins(way, tail, places=None, *edits):
    head = '[plan]\nname = "Bins on blocks"\nnote = "All numbers are invented."\ndatum = "yard"\n'
    beds = "".join(BIN.format(n=n, place=(places or {}).get(n, "")) for n in (1, 2, 3))
    runs = "".join(RUN.format(n=n, way=way) for n in (1, 2, 3))
    text = head + beds + runs + REST.format(tail=tail)
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    return plan_from_text(text)


REFUSED = bins(
    'length = "0.6 m"\nfittings = ["entrance, square", "2 x bend 90, sharp", "exit"]\noutfall = "0.360 m"',
    'length = "0.5 m"\nfittings = ["bend 90, sharp", "exit"]\noutlet = "0.060 m"',
)
GOOD = (
    'legs = ["down 80 mm", "along 620 mm"]\nfittings = ["entrance, square", "bend 90, sharp", "exit"]',
    'legs = ["down 75 mm", "along 300 mm", "down 80 mm"]\nfittings = ["2 x bend 90, sharp", "exit"]\n'
    'outlet = "0.095 m"',
)
MENDED = bins(*GOOD)
CHAMBER = 'floor = "0.250 m"\n'
HERE = (CHAMBER, CHAMBER + 'x = "0 m"\ny = "0 m"\n')
DELIVERY = """
[pump.delivery]
series = "ISO 1452 PN16"
size = "25 mm"
outlet = "0.900 m"
"""
UP = 'legs = ["up {} m", "along 1.2 m", "up {} m"]'
GUARD = 'width = "3 mm", length = "25 mm"'
ROUND = 'shape = "rectangular"\nlength = "400 mm"\nwidth = "400 mm"\ndepth = "560 mm"\n'
SLIM = (ROUND, 'shape = "round"\ndiameter = "220 mm"\ndepth = "560 mm"\n')
OVERFLOW = '\n[siphon.overflow]\nbore = "{} mm"\nheight = "490 mm"\n[sump]\n'
#: Faults of a builder's own: key and subject, places of the bins, edits; then what mends it.
OWN = {
    "a bin behind another, both lines into one wall at one height": (
        "holes_close", "chamber", PLACES | {2: 'x = "-1.7 m"\ny = "0.02 m"'},
        (HERE, ('from = "bin 2"\nto = "chamber"\nseries = "ISO 1452 PN16"\nsize = "32 mm"\nlegs = '
                '["down 80 mm", "along 620 mm"]',
                'from = "bin 2"\nto = "chamber"\nseries = "ISO 1452 PN16"\nsize = "32 mm"\nlegs = '
                '["down 80 mm", "along 1500 mm"]')),
        PLACES, (HERE,)),
    "a bin too far off for its line": (
        "line_misses", "bin 3 to chamber", PLACES | {3: 'x = "0 m"\ny = "-0.95 m"'}, (HERE,),
        PLACES, (HERE,)),
    "a delivery led through a bin": (
        "overlap", "delivery and bin 2", PLACES,
        (HERE, ('intake = "80 mm"\n', 'intake = "80 mm"\n' + DELIVERY + UP.format(0.97, 0.3))),
        PLACES, (HERE, ('intake = "80 mm"\n', 'intake = "80 mm"\n' + DELIVERY + UP.format(1.2, 0.07)))),
    "a media guard beside the wall": (
        "strainer_wall", "bin 1", {1: 'outlet_across = "45 mm"'},
        ((GUARD, GUARD + ', fixing = "media guard"'),),
        {1: 'outlet_across = "100 mm"'}, ((GUARD, GUARD + ', fixing = "media guard"'),)),
    "a safety overflow in the bell": (
        "overlap", "bell of siphon and overflow of siphon", {}, (SLIM, ("\n[sump]\n", OVERFLOW.format(50))),
        {}, (SLIM, ("\n[sump]\n", OVERFLOW.format(26)))),
}  # fmt: skip


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


def test_two_pieces_too_short_are_both_named():
    """An elbow 40 mm under the bed's floor and a bend 20 mm from the chamber's inside, which need 59 each.

    Wall 5, seal 15, socket 22, half the outside and 1: so the elbow's socket ends in the bed, the bend's in
    the chamber.
    """
    way = (
        'legs = ["down 40 mm", "along 560 mm", "left 20 mm"]\n'
        'fittings = ["entrance, square", "2 x bend 90, sharp", "exit"]'
    )
    found = said(bins(way, GOOD[1]))["piece_short", "bin 1 to chamber"]
    assert found.state == "does not"
    assert (found.value, found.limit) == pytest.approx((0.020, 0.059))
    assert "rubber pipe seal of chamber" in found.cause
    assert (
        "Also too short: between rubber pipe seal of bin 1 and bend 90, sharp (40.0 mm of 59.0 mm)"
        in found.cause
    )


@pytest.mark.parametrize("name", OWN)
def test_own_faults(name):
    key, subject, places, edits, mended, others = OWN[name]
    found = said(bins(*GOOD, places, *edits))
    assert (key, subject) in found, list(found)
    assert found[key, subject].state == "does not"
    assert found[key, subject].value is not None
    assert found[key, subject].change
    said_of = {k: f.state for k, f in said(bins(*GOOD, mended, *others)).items() if k[0] == key}
    assert "does not" not in said_of.values(), said_of
