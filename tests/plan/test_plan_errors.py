"""Every way a plan can be wrong gives one error that names file, key, value and fix."""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.equations.losses import TWO_45_SMOOTH
from aquacalc.plan import PlanError, check_plan, edit, plan_from_text, read_plan
from aquacalc.plan.check import faults_of
from aquacalc.plan.errors import Fault
from aquacalc.plan.model import Fitting

pytestmark = pytest.mark.identity
TEXT = (data_dir() / "plans" / "greenhouse.toml").read_text(encoding="utf-8")
PLANS = Path(__file__).parents[1] / "plans"


#: Cases in which one change is a fault in more places than one, and how many.
#: How the demo states its pump's flow.
FLOW = 'flow = { value = "18 L/min", mark = "measured", note = "jug and stopwatch" }'
MORE = {
    "own media without its values": 3,
    "missing table": 2, "missing inner table": 2, "own pipe without bore": 3, "chamber without siphon": 3,
    "lip above the chamber": 2, "lip above the bed": 2, "bell narrower than the lip": 2,
    "bell without series or bore": 2,
}  # fmt: skip


def refused(text, key, value, fix, name="greenhouse.toml", faults=1):
    with pytest.raises(PlanError) as caught:
        plan_from_text(text, name)
    error = caught.value
    message = str(error)
    assert len(error.faults) == faults, message
    error = PlanError.of(error.file, [next((f for f in error.faults if f.key == key), error.faults[0])])
    message = str(error)
    assert error.key == key, message
    assert value in error.value, message
    assert fix in error.fix, message
    line = f", line {error.faults[0].line}" if error.faults[0].line else ""
    assert message.startswith(f"{name}{line}: {key}")
    assert error.value in message
    assert error.fix in message
    assert message.count("Fix:") == 1
    assert "\n" not in message
    assert len(message) < 700, message
    return message


def changed(*pairs, text=TEXT):
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


CASES = {
    "no unit": ('"1.2 m"', "1.2", "bed.bed 1.length", "1.2", "write it with its unit"),
    "no unit in text": ('"1.2 m"', '"1.2"', "bed.bed 1.length", "1.2", "1.2 m"),
    "wrong dimension": ('"1.2 m"', '"1.2 L"', "bed.bed 1.length", "1.2 L", "1.2 m"),
    "unknown unit": ('"1.2 m"', '"1.2 cubits"', "bed.bed 1.length", "1.2 cubits", "1.2 m"),
    "not a number": ('"1.2 m"', '"long"', "bed.bed 1.length", "long", "1.2 m"),
    "nan text": ('"1.2 m"', '"nan m"', "bed.bed 1.length", "nan m", "1.2 m"),
    "inf text": ('"1.2 m"', '"inf m"', "bed.bed 1.length", "inf m", "1.2 m"),
    "nan share": ("inflow_share = 1", "inflow_share = nan", "bed.bed 1.inflow_share", "nan", "0.6"),
    "inf share": ("inflow_share = 1", "inflow_share = inf", "bed.bed 1.inflow_share", "inf", "0.6"),
    "overflowing share": (
        "inflow_share = 1", "inflow_share = 0x" + "f" * 5000, "bed.bed 1.inflow_share", "too long", "check"),
    "zero size": ('"1.2 m"', '"0 m"', "bed.bed 1.length", "0 m", "above 0"),
    "negative size": ('"1.2 m"', '"-1.2 m"', "bed.bed 1.length", "-1.2 m", "1.2 m"),
    "huge size": ('"1.2 m"', '"1200 m"', "bed.bed 1.length", "1200 m", "check the number and the unit"),
    "huge elevation": ('"0.700 m"', '"-2 km"', "bed.bed 1.floor", "-2 km", "check the number"),
    "boiling water": ('"20 degC"', '"90 degC"', "plan.water_temperature", "90 degC", "check the number"),
    "wrong type": ('"1.2 m"', "[1]", "bed.bed 1.length", "[1]", "1.2 m"),
    "text wanted": ('name = "bed 1"', "name = 1", "bed number 1.name", "1", 'name = "bed 1"'),
    "count as text": ("supports = 4", 'supports = "4"', "bed.bed 1.supports", '"4"', "without quotes"),
    "count of zero": ("supports = 4", "supports = 0", "bed.bed 1.supports", "0", "from 1"),
    "missing key": ('length = "1.2 m"\n', "", "bed.bed 1.length", "", 'add length = "1.2 m"'),
    "missing depth": ('depth = "300 mm"\n', "", "bed.bed 1.depth", "", 'add depth = "300 mm"'),
    "misspelt key": ("media_depth", "media_deep", "bed.bed 1.media_deep", "270 mm", 'mean "media_depth"'),
    "misspelt table": ("[limits]", "[limit]", "limit", "", 'mean "limits"'),
    "unknown key": ("[limits]\n", "[limits]\ncolour = 1\n", "limits.colour", "1", "write one of"),
    "unknown choice": ('"beds drained"', '"beds draind"', "sump.measured_with", "draind", '"beds drained"'),
    "unknown shape": ('"rectangular"', '"square"', "bed.bed 1.shape", "square", '"rectangular"'),
    "key of another shape": (
        'width = "500 mm"', 'width = "500 mm"\ndiameter = "1 m"', "bed.bed 1.diameter", "1 m", "round"),
    "single for list": ("[[chamber]]", "[chamber]", "chamber", "", "[[chamber]]"),
    "list for single": ("[sump]", "[[sump]]", "sump", "", "[sump]"),
    "missing table": ('[sump]\nname = "sump"', '[limits.sump]\nname = "sump"', "sump", "", "add [sump]"),
    "missing inner table": ("[siphon.tail]", "[pump.tail]", "siphon.siphon.tail", "", "add [siphon.tail]"),
    "unknown series": (
        '"ASTM D1785 schedule 40"', '"ASTM D1785 schedule 41"', "run.bed 1.series", "schedule 41",
        "schedule 40"),
    "unknown size": ('"1-1/2 in"', '"1.5 in"', "run.bed 1.size", "1.5 in", '"1-1/2 in"'),
    "own pipe without bore": (
        'series = "ASTM D1785 schedule 40"', 'series = "own"', "run.bed 1.bore", "", "add bore ="),
    "own media without its values": (
        'media = "expanded clay"', 'media = "own"', "bed.bed 1.bulk_density", "", "add bulk_density ="),
    "unknown fitting": (
        '"bend 90, short"', '"bend 90, shrt"', "run.bed 1.fittings", "shrt", "bend 90, short"),
    "spacing missing": (
        '{ fitting = "two 45s", spacing = "80 mm" }', '"two 45s"', "run.tee 3.fittings", "two 45s",
        "spacing ="),
    "spacing out of range": (
        'spacing = "80 mm"', 'spacing = "1 m"', "run.tee 3.fittings", "1 m", "2 x bend 45"),
    "spacing where none": (
        '"bend 90, short"', '{ fitting = "bend 45", spacing = "9 mm" }', "run.bed 1.fittings", "9 mm",
        "leave"),
    "k and spacing": (
        'spacing = "80 mm"', 'spacing = "80 mm", k = 1', "run.tee 3.fittings", "two 45s", "leave one"),
    "k below zero": (
        '"bend 90, short"', '{ fitting = "mine", k = -1 }', "run.bed 1.fittings", "-1", "above 0"),
    "fitting without a name": ('"bend 90, short"', "{ k = 1 }", "run.bed 1.fittings", "", "my own"),
    "key of a fitting": (
        '"bend 90, short"', '{ fitting = "a", kk = 1 }', "run.bed 1.fittings.kk", "1", '"k"'),
    "hundreds of fittings": (
        '"bend 90, short"', '"900 x bend 90, short"', "run.bed 1.fittings", "900", "how many"),
    "fittings as text": (
        'fittings = ["tee, in line"]', 'fittings = "tee, in line"', "run.tee 2.fittings", "tee",
        '["entrance'),
    "entrance missing": ('["entrance, square", "tee, branch"]', '["tee, branch"]', "run.bed 2.fittings",
                         "tee, branch", '"entrance, square"'),
    "exit missing": (', "exit"]\noutfall', "]\noutfall", "run.tee 3.fittings", "two 45s", '"exit"'),
    "rim as high as the lip": (
        'rim_height = "30 mm"', 'rim_height = "430 mm"', "siphon.siphon.bell.rim_height", "430 mm", "lower"),
    "tail without fittings": (
        '["bend 90, short", "bend 90, short", "exit"]', "[]", "siphon.siphon.tail.fittings", "", '"exit"'),
    "exit at a tee": (
        '["tee, in line"]', '["tee, in line", "exit"]', "run.tee 2.fittings", "exit",
        "one exit into a vessel"),
    "tail without exit": (
        '["bend 90, short", "bend 90, short", "exit"]', '["bend 90, short"]', "siphon.siphon.tail.fittings",
        "bend 90", '"exit"'),
    "unknown media": ('"expanded clay"', '"expanded cly"', "bed.bed 1.media", "cly", '"own" with porosity'),
    "unknown seal": ('"rubber pipe seal"', '"glue"', "bed.bed 1.seal", "glue", '"tank fitting"'),
    "duplicate name": ('name = "bed 2"', 'name = "bed 1"', "bed.bed 1.name", "bed 1", "its own name"),
    "name of a bed and the sump": ('name = "sump"', 'name = "bed 1"', "sump.name", "bed 1", "its own name"),
    "name with a point": ('name = "bed 2"', 'name = "bed.2"', "bed.bed.2.name", "bed.2", 'without "."'),
    "name with a star": ('name = "bed 2"', 'name = "*"', "bed.*.name", "*", 'without "."'),
    "empty name": ('name = "bed 2"', 'name = ""', "bed number 2.name", "", "letters"),
    "siphon named as a part": ('name = "siphon"', 'name = "bell"', "siphon.bell.name", "bell", '"siphon 1"'),
    "run to nowhere": ('to = "chamber"', 'to = "chambre"', "run.tee 3.to", "chambre", '"chamber"'),
    "run from nowhere": ('from = "bed 1"', 'from = "bed 9"', "run.bed 9.from", "bed 9", '"bed 1"'),
    "loop": ('to = "chamber"', 'to = "tee 2"', "run.tee 2.to", "tee 3", "siphon's chamber"),
    "run to itself": ('to = "tee 3"', 'to = "tee 2"', "run.tee 2.to", "tee 2", "siphon's chamber"),
    "bed without a run": ('from = "bed 1"', 'from = "tee 2"', "run.tee 2.from", "tee 2", "tee"),
    "run to a misspelt tee": ('to = "tee 2"', 'to = "te 2"', "run.bed 1.to", "te 2", '"tee 2"'),
    "two runs out of a bed": ('from = "bed 2"', 'from = "bed 1"', "run.bed 1.from", "bed 1", "tee"),
    "siphon host unknown": (
        'host = "chamber"', 'host = "chamber 1"', "siphon.siphon.host", "chamber 1", '"chamber"'),
    "chamber without siphon": (
        'host = "chamber"', 'host = "bed 1"', "chamber.chamber", "chamber", "[[siphon]]"),
    "run out of the chamber": ('from = "tee 3"', 'from = "chamber"', "run.chamber.from", "chamber", "take"),
    "lip above the chamber": (
        'height = "430 mm"', 'height = "530 mm"', "siphon.siphon.standpipe.height", "530", "shorten"),
    "lip above the bed": (
        'height = "430 mm"', 'height = "510 mm"', "siphon.siphon.standpipe.height", "510", "raise the bed"),
    "lip below every bed": (
        'height = "430 mm"', 'height = "190 mm"', "siphon.siphon.standpipe.height", "190", "lengthen"),
    "bell lower than the lip": (
        'top_height = "465 mm"', 'top_height = "420 mm"', "siphon.siphon.bell.top_height", "420", "lengthen"),
    "bell rim above the lip": (
        'rim_height = "30 mm"', 'rim_height = "440 mm"', "siphon.siphon.bell.rim_height", "440", "lower"),
    "bell rim at the floor": (
        'rim_height = "30 mm"', 'rim_height = "0 mm"', "siphon.siphon.bell.rim_height", "0 mm", "above 0"),
    "opening below the floor": (
        'opening_height = "30 mm"', 'opening_height = "40 mm"', "siphon.siphon.bell.opening_height", "40",
        "no more than rim_height"),
    "openings all round": (
        'opening_width = "40 mm"', 'opening_width = "90 mm"', "siphon.siphon.bell.opening_width", "90",
        "fewer"),
    "bell narrower than the lip": (
        'size = "3 in"', 'size = "1-1/2 in"', "siphon.siphon.bell.bore", "40.9", "wider"),
    "bell wider than the chamber": (
        'diameter = "250 mm"', 'diameter = "85 mm"', "siphon.siphon.bell.outside_diameter", "88.9",
        "narrower"),
    "bell without series or bore": (
        'series = "ASTM D1785 schedule 40"\nsize = "3 in"\n', "", "siphon.siphon.bell.bore", "", "add bore"),
    "lip narrower than the bore": (
        '"40.9 mm"', '"20 mm"', "siphon.siphon.standpipe.lip_diameter", "20", "reducer"),
    "cone without height": (
        'cone_length = "30 mm"', "", "siphon.siphon.standpipe.cone_length", "0 mm", "height of the reducer"),
    "cone as tall as the standpipe": (
        'cone_length = "30 mm"', 'cone_length = "430 mm"', "siphon.siphon.standpipe.cone_length", "430",
        "alone"),
    "tail above the rim": (
        'outlet = "0.320 m"', 'outlet = "0.540 m"', "siphon.siphon.tail.outlet", "0.540", "lower"),
    "tail below the sump": (
        'length = "0.55 m"\nfittings = ["bend 90, short", "bend 90, short", "exit"]\noutlet = "0.320 m"',
        'length = "2 m"\nfittings = ["exit"]\noutlet = "-0.5 m"', "siphon.siphon.tail.outlet", "-0.5",
        "sump"),
    "tail too short": (
        'length = "0.55 m"', 'length = "0.15 m"', "siphon.siphon.tail.length", "150", "measure"),
    "run too short": ('length = "90 mm"', 'length = "80 mm"', "run.bed 2.length", "80", "measure"),
    "outfall outside the wall": (
        'outfall = "0.560 m"', 'outfall = "0.45 m"', "run.tee 3.outfall", "0.45", "room"),
    "outfall at the wall's top": (
        'outfall = "0.560 m"', 'outfall = "1.00 m"', "run.tee 3.outfall", "1.0", "room"),
    "outfall off the tee": (
        'length = "1.44 m"', 'length = "1.44 m"\noutfall = "0.65 m"', "run.bed 1.outfall", "0.65", "leave"),
    "media deeper than the bed": (
        'media_depth = "270 mm"', 'media_depth = "310 mm"', "bed.bed 1.media_depth", "310", "deepen"),
    "porosity over 1": ("porosity = 0.45", "porosity = 45", "bed.bed 1.porosity", "45", "check the number"),
    "porosity of 0": ("porosity = 0.45", "porosity = 0", "bed.bed 1.porosity", "0", "above 0"),
    "height of a floor outlet": (
        'outlet = "floor"', 'outlet = "floor"\noutlet_height = "9 mm"', "bed.bed 1.outlet_height", "9",
        "side"),
    "side outlet above the wall": (
        'outlet = "floor"', 'outlet = "side"\noutlet_height = "290 mm"', "bed.bed 1.outlet_height", "290",
        "lower"),
    "slots without length": (', length = "25 mm"', "", "bed.bed 1.strainer.length", "0", "length of a slot"),
    "holes with length": ('"slots"', '"holes"', "bed.bed 1.strainer.length", "25", "leave it out"),
    "water above the sump": ('"610 mm"', '"710 mm"', "sump.water_level", "710", "floor"),
    "freeboard of the whole sump": ('"50 mm"', '"700 mm"', "sump.freeboard", "700", "less"),
    "intake above the water": ('intake = "100 mm"', 'intake = "650 mm"', "pump.intake", "650", "lower"),
    "no pump flow": (FLOW + "\n", "", "pump.flow", "", "either flow"),
    "flow and curve": (
        FLOW, 'flow = "18 L/min"\ncurve = [["0 L/min", "2 m"], ["9 L/min", "1 m"]]',
                       "pump.flow", "18.0 L/min", "either flow"),
    "rising curve": (
        FLOW, 'curve = [["0 L/min", "2 m"], ["9 L/min", "3 m"]]', "pump.curve", "3",
        "falling"),
    "curve of one point": (
        FLOW, 'curve = [["0 L/min", "2 m"]]', "pump.curve", "2", "two or more"),
    "curve of numbers": (FLOW, "curve = [[0, 2], [9, 1]]", "pump.curve", "0", "18 L/min"),
    "curve that is flat text": (FLOW, 'curve = "2 m"', "pump.curve", "2 m", "curve = "),
    "delivery below the beds": (
        'outlet = "1.050 m"', 'outlet = "0.650 m"', "pump.delivery.outlet", "0.650", "above the beds"),
    "limits the wrong way": ("floods_low = 1", "floods_low = 7", "limits.floods_low", "7", "swap"),
    "syntax": ('length = "1.2 m"', "length = 1.2 m", "line 15, column 14", "length = 1.2 m", "quotes"),
    "own pipe wider inside than outside": (
        'series = "ASTM D1785 schedule 40"\nsize = "1-1/2 in"',
        'series = "own"\nsize = "tube"\nbore = "50 mm"\noutside_diameter = "48 mm"\nroughness = "0.01 mm"',
        "run.bed 1.bore", "50.0 mm", "measure both again"),
    "own bell wider inside than outside": (
        'series = "ASTM D1785 schedule 40"\nsize = "3 in"\n',
        'bore = "80 mm"\noutside_diameter = "79 mm"\n', "siphon.siphon.bell.bore", "80.0 mm",
        "measure both again"),
    "a number for a fitting": (
        '"bend 90, short"', "7", "run.bed 1.fittings", "7", 'such as "bend 45"'),
    "control character in a fitting": (
        '"bend 90, short"', '{ fitting = "a\\u0007b", k = 1 }', "run.bed 1.fittings", "b", "again by hand"),
    "very long line": ("[limits]", "x = '" + "y" * 200_000 + "'", "line 170", "", "keep a line under"),
    "key twice": (
        'length = "1.2 m"', 'length = "1.2 m"\nlength = "1.3 m"', "line 16, column 17", "1.3 m", "each line"),
    "end of file": ("[limits]", "[limits", "line 170, column 8", "[limits", "each line"),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_one_error_names_key_value_and_fix(case):
    old, new, key, value, fix = CASES[case]
    refused(changed((old, new)), key, value, fix, faults=MORE.get(case, 1))


def test_all_shares_zero():
    refused(TEXT.replace("inflow_share = 1", "inflow_share = 0"), "bed.bed 1.inflow_share", "0", "above 0")


def test_tee_without_inlet():
    text = TEXT.replace('to = "tee 3"', 'to = "chamber"\noutfall = "0.6 m"')
    refused(text, "tee.tee 3", "tee 3", "lead a run")


def test_bed_left_out_of_the_network():
    start = TEXT.index('[[run]]\nfrom = "bed 3"')
    end = TEXT.index("[[run]]", start + 1)
    refused(TEXT[:start] + TEXT[end:], "bed.bed 3", "bed 3", "add [[run]]")


def test_tee_that_leads_nowhere():
    start = TEXT.index('[[run]]\nfrom = "tee 2"')
    end = TEXT.index("[[run]]", start + 1)
    refused(TEXT[:start] + TEXT[end:], "tee.tee 2", "tee 2", "add [[run]]")


def test_chamber_that_nothing_flows_to():
    text = (PLANS / "inside-bed.toml").read_text()
    chamber = '[[chamber]]\nname = "spare"\nshape = "round"\ndepth = "1 m"\ndiameter = "1 m"\nfloor = "0 m"\n'
    siphon = text[text.index("[[siphon]]") : text.index("[sump]")]
    second = siphon.replace('name = "siphon"', 'name = "second"').replace('host = "bed 1"', 'host = "spare"')
    refused(text + "\n" + chamber + second, "chamber.spare", "spare", "lead a run", faults=2)


def test_two_siphons_in_one_chamber():
    siphon = TEXT[TEXT.index("[[siphon]]") : TEXT.index("[sump]")]
    second = siphon.replace('name = "siphon"', 'name = "second"')
    refused(TEXT + "\n" + second, "siphon.siphon.host", "chamber", "its own chamber")


def test_siphon_in_a_bed_wants_a_guard_that_fits():
    text = (PLANS / "inside-bed.toml").read_text()
    refused(
        changed(('media_guard = "154 mm"', ""), text=text), "siphon.siphon.media_guard", "", "media guard"
    )
    for size in ("80 mm", "700 mm"):
        refused(changed(("154 mm", size), text=text), "siphon.siphon.media_guard", size[:2], "another pipe")


def test_bed_with_a_siphon_has_no_run():
    text = (PLANS / "inside-bed.toml").read_text()
    run = text[text.index("[[run]]") : text.index("[[siphon]]")]
    other = run.replace('from = "bed 2"', 'from = "bed 1"').replace('to = "bed 1"', 'to = "bed 2"')
    refused(text + "\n" + other, "run.bed 1.from", "bed 1", "take the run out")


def test_curve_wants_a_delivery_pipe():
    text = (PLANS / "pump-curve.toml").read_text()
    refused(text[: text.index("[pump.delivery]")], "pump.delivery", "", "add [pump.delivery]")


@pytest.mark.parametrize("name", ["half-drums", "single", "us-units"])
def test_unknown_media_in_any_shape_is_one_fault(name):
    """What would be derived from it has a stand-in, so that nothing else is said to lack."""
    text = (PLANS / f"{name}.toml").read_text()
    spoilt = re.sub(r'media = "[^"]+"', 'media = "sawdust"', text, count=1)
    with pytest.raises(PlanError) as caught:
        plan_from_text(spoilt)
    assert [fault.key.rpartition(".")[2] for fault in caught.value.faults] == ["media"]


def test_half_drum_deeper_than_its_diameter():
    text = (PLANS / "half-drums.toml").read_text()
    deep = changed(('diameter = "570 mm"', 'diameter = "570 mm"\ndepth = "600 mm"'), text=text)
    refused(deep, "bed.drum 1.depth", "600", "half the diameter")


@pytest.mark.parametrize(
    ("old", "new", "key", "value", "fix"),
    [
        (
            '["0 mm", "100 mm", "300 mm"]',
            '["0 mm", "300 mm", "100 mm"]',
            "bed.tub.depths",
            "300 mm",
            "larger",
        ),
        (
            '["0 mm", "100 mm", "300 mm"]',
            '["9 mm", "100 mm", "300 mm"]',
            "bed.tub.depths",
            "9.00 mm",
            "begin",
        ),
        ('["0 mm", "100 mm", "300 mm"]', '["0 mm", "300 mm"]', "bed.tub.areas", "3 values", "one area"),
        ('["0 mm", "100 mm", "300 mm"]', '"300 mm"', "bed.tub.depths", "300 mm", "depths = ["),
        ('"0.30 m2"', '"0 m2"', "bed.tub.areas", "0", "above 0"),
        ('"0.30 m2"', '"0.30 m"', "bed.tub.areas", "0.30 m", "1.2 m²"),
    ],
)
def test_table_of_areas(old, new, key, value, fix):
    refused(changed((old, new), text=(PLANS / "half-drums.toml").read_text()), key, value, fix)


def test_priming_band_and_observed_error():
    text = (PLANS / "us-units.toml").read_text()
    band = changed(('observed = "3.1 gpm"', "froude = 2"), text=text)
    refused(band, "siphon.siphon.priming.froude", "2", "band")
    wide = changed(('"0.2 gpm"', '"3.2 gpm"'), text=text)
    refused(wide, "siphon.siphon.priming.observed_error", "gpm", "small part")


def test_errors_show_the_units_of_the_plan():
    text = (PLANS / "us-units.toml").read_text()
    message = refused(
        changed(('media_depth = "10 1/2 in"', 'media_depth = "13 in"'), text=text),
        "bed.trough.media_depth", "13.0 in", "deepen",
    )  # fmt: skip
    assert "12.0 in" in message


@pytest.mark.parametrize(
    ("data", "key", "reason"),
    [
        (b"\x00\x01\x02" * 100, "", "binary"),
        (b"\x89PNG\r\n\x1a\n" * 10, "line 1", "UTF-8"),
        (TEXT.replace("herbs", "herbs \u00e9").encode("latin-1"), "line 1", "UTF-8"),
        (b"#" * 10_000_000, "", "1 MB"),
        (b"", "bed", "missing"),
        (b"a = " + b"[" * 100_000, "", "nested"),
        (b"a." * 50_000 + b"b = 1", "line 1", "parts"),
        (b"a = 1\n[x." + b"a . " * 1000 + b"b]", "line 2", "parts"),
    ],
)
def test_file_that_is_no_plan(tmp_path, data, key, reason):
    path = tmp_path / "plan.toml"
    path.write_bytes(data)
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    assert caught.value.file == str(path)
    assert key in caught.value.key
    assert reason in str(caught.value)
    assert caught.value.fix
    for line in str(caught.value).splitlines():
        assert line.isprintable()
        assert len(line) < 700 + len(str(path))
    assert path.read_bytes() == data


def test_folder_and_missing_file(tmp_path):
    for path, reason in (
        (tmp_path, "folder"),
        (tmp_path / "none.toml", "no such file"),
        ("a\x00b", "cannot"),
    ):
        with pytest.raises(PlanError, match=reason) as caught:
            read_plan(path)
        assert caught.value.fix


def test_plan_made_in_code_is_checked_too():
    plan = plan_from_text(TEXT)
    run = plan.runs[0]
    spoilt = replace(run.fittings[0], k=math.nan)
    for bad, key in (
        (replace(plan, water_temperature=math.nan), "plan.water_temperature"),
        (replace(plan, beds=(replace(plan.beds[0], floor=math.inf), *plan.beds[1:])), "bed.bed 1.floor"),
        (replace(plan, pump=replace(plan.pump, flow=-1e-4)), "pump.flow"),
        (
            replace(plan, sump=replace(plan.sump, shape=replace(plan.sump.shape, diameter=0.0))),
            "sump.diameter",
        ),
        (
            replace(plan, pump=replace(plan.pump, flow=None, curve=((0.0, 2.0), (-1e-4, 1.0)))),
            "pump.curve",
        ),
        (
            replace(plan, runs=(replace(run, fittings=(spoilt, *run.fittings[1:])), *plan.runs[1:])),
            "run.bed 1.fittings",
        ),
    ):
        with pytest.raises(PlanError) as caught:
            check_plan(bad, "edited")
        assert caught.value.key == key
        assert caught.value.file == "edited"


#: A plan with eight faults: line, key and the word that mends it, by place.
EIGHT = (
    (6, "bed.bed 1.lenght", "length"),
    (7, "bed.bed 1.width", '"500 mm"'),
    (10, "bed.bed 1.media", '"expanded clay"'),
    (13, "run.bed 1.size", '"50 mm"'),
    (17, "chamber.chamber.depth", "unit"),
    (20, "siphon.siphon.standpip", '"standpipe"'),
    (27, "sump.water_level", "from the sump's floor"),
    (29, "pump.flow", '"18 L/min"'),
)
EIGHT_TEXT = """[plan]
name = "Eight faults"
units = "metric"
[[bed]]
count = 3
lenght = "1.2 m"
width = "500"
depth = "300 mm"
floor = "700 mm"
media = "expanded cley"
[[run]]
from = "every bed"
size = "51 mm"
length = "1 m"
[[chamber]]
diameter = "250 mm"
depth = "520 L"
floor = "500 mm"
[[siphon]]
standpip = { size = "32 mm", height = "430 mm" }
bell = { size = "90 mm", top_height = "470 mm" }
tail = { size = "32 mm", length = "0.5 m", outlet = "0.32 m" }
[sump]
diameter = "900 mm"
depth = "700 mm"
floor = "-400 mm"
water_level = "800 mm"
[pump]
flow = 18
"""


def test_a_file_with_eight_faults_gives_eight_by_place():
    with pytest.raises(PlanError) as caught:
        plan_from_text(EIGHT_TEXT)
    faults = caught.value.faults
    assert [(f.line, f.key) for f in faults] == [(line, key) for line, key, _ in EIGHT]
    for fault, (_, _, mend) in zip(faults, EIGHT, strict=True):
        assert mend in fault.fix, fault
    told = caught.value.as_dict()["faults"]
    assert [(f["line"], f["key"], f["fix"]) for f in told] == [(f.line, f.key, f.fix) for f in faults]


DEMO = plan_from_text(TEXT)
BORE = DEMO.siphons[0].standpipe.pipe.bore
#: Edits that a plan may just have, edits that it may not, and the key that is named then.
JUST = [
    ({"bed.bed 1.media_depth": 0.3 + 5e-10}, {"bed.bed 1.media_depth": 0.3 + 2e-9}, "bed.bed 1.media_depth"),
    ({"bed.bed 1.outlet": "side", "bed.bed 1.outlet_height": 0.2591, "bed.bed 1.floor": 0.65},
     {"bed.bed 1.outlet": "side", "bed.bed 1.outlet_height": 0.2592, "bed.bed 1.floor": 0.65},
     "bed.bed 1.outlet_height"),
    ({"bed.bed 1.outlet_height": 0.0}, {"bed.bed 1.outlet_height": 0.001}, "bed.bed 1.outlet_height"),
    ({"bed.bed 1.inflow_share": 0.0, "bed.bed 2.inflow_share": 0.0}, {"bed.*.inflow_share": 0.0},
     "bed.bed 1.inflow_share"),
    ({"bed.bed 2.strainer.length": 0.001}, {"bed.bed 2.strainer.length": 0.0}, "bed.bed 2.strainer.length"),
    ({"bed.bed 2.strainer.kind": "holes", "bed.bed 2.strainer.length": 0.0},
     {"bed.bed 2.strainer.kind": "holes", "bed.bed 2.strainer.length": 0.02}, "bed.bed 2.strainer.length"),
    ({"sump.water_level": 0.7}, {"sump.water_level": 0.7001}, "sump.water_level"),
    ({"sump.freeboard": 0.699}, {"sump.freeboard": 0.7}, "sump.freeboard"),
    ({"pump.intake": 0.609}, {"pump.intake": 0.61}, "pump.intake"),
    ({"siphon.tail.outlet": -0.4, "siphon.tail.length": 1.0},
     {"siphon.tail.outlet": -0.4001, "siphon.tail.length": 1.0}, "siphon.siphon.tail.outlet"),
    ({"pump.delivery.outlet": 0.7}, {"pump.delivery.outlet": 0.699}, "pump.delivery.outlet"),
    ({"pump.delivery.outlet": 0.71, "bed.bed 2.floor": 0.71, "bed.bed 2.inflow_share": 1.0},
     {"pump.delivery.outlet": 0.71, "bed.bed 2.floor": 0.72, "bed.bed 2.inflow_share": 1.0},
     "pump.delivery.outlet"),
    ({"pump.delivery.outlet": 0.71, "bed.bed 2.floor": 0.72, "bed.bed 2.inflow_share": 0.0},
     {"pump.delivery.outlet": 0.69, "bed.bed 2.floor": 0.68}, "pump.delivery.outlet"),
    ({"pump.delivery.length": 1.346}, {"pump.delivery.length": 1.344}, "pump.delivery.length"),
    ({"limits.floods_low": 6.0}, {"limits.floods_low": 6.01}, "limits.floods_low"),
    ({"siphon.priming.froude": 0.44}, {"siphon.priming.froude": 0.02}, "siphon.siphon.priming.froude"),
    ({"siphon.priming.observed": 1e-4, "siphon.priming.observed_error": 0.9e-4},
     {"siphon.priming.observed": 1e-4, "siphon.priming.observed_error": 1e-4},
     "siphon.siphon.priming.observed_error"),
    ({"siphon.stopping.observed": 1e-4, "siphon.stopping.observed_error": 0.9e-4},
     {"siphon.stopping.observed": 1e-4, "siphon.stopping.observed_error": 1e-4},
     "siphon.siphon.stopping.observed_error"),
    ({"siphon.tail.outlet": 0.5299}, {"siphon.tail.outlet": 0.53}, "siphon.siphon.tail.outlet"),
    ({"siphon.tail.length": 0.176}, {"siphon.tail.length": 0.174}, "siphon.siphon.tail.length"),
    ({"siphon.standpipe.lip_diameter": BORE - 5e-10, "siphon.standpipe.entry": "square"},
     {"siphon.standpipe.lip_diameter": 0.0266, "siphon.standpipe.entry": "square"},
     "siphon.siphon.standpipe.lip_diameter"),
    ({"siphon.standpipe.cone_length": 0.429}, {"siphon.standpipe.cone_length": 0.43},
     "siphon.siphon.standpipe.cone_length"),
    ({"siphon.standpipe.cone_length": 0.0, "siphon.standpipe.entry": "square"},
     {"siphon.standpipe.cone_length": 0.0}, "siphon.siphon.standpipe.cone_length"),
    ({"siphon.bell.top_height": 0.4301}, {"siphon.bell.top_height": 0.43}, "siphon.siphon.bell.top_height"),
    ({"siphon.bell.rim_height": 0.4299}, {"siphon.bell.rim_height": 0.43}, "siphon.siphon.bell.rim_height"),
    ({"siphon.bell.opening_height": 0.03 + 5e-10}, {"siphon.bell.opening_height": 0.03 + 2e-9},
     "siphon.siphon.bell.opening_height"),
    ({"siphon.bell.opening_width": 0.0697}, {"siphon.bell.opening_width": 0.0699},
     "siphon.siphon.bell.opening_width"),
    ({"chamber.chamber.diameter": 0.0890}, {"chamber.chamber.diameter": 0.0889},
     "siphon.siphon.bell.outside_diameter"),
    ({"siphon.media_guard": 0.0890}, {"siphon.media_guard": 0.0888}, "siphon.siphon.media_guard"),
    ({"siphon.media_guard": 0.2499}, {"siphon.media_guard": 0.25}, "siphon.siphon.media_guard"),
    ({"siphon.standpipe.height": 0.499, "siphon.bell.top_height": 0.51},
     {"siphon.standpipe.height": 0.5, "siphon.bell.top_height": 0.51}, "siphon.siphon.standpipe.height"),
    ({"bed.bed 2.depth": 0.231, "bed.bed 2.media_depth": 0.2},
     {"bed.bed 2.depth": 0.2299, "bed.bed 2.media_depth": 0.2}, "siphon.siphon.standpipe.height"),
    ({"siphon.standpipe.height": 0.21}, {"siphon.standpipe.height": 0.2}, "siphon.siphon.standpipe.height"),
    ({"bed.*.floor": 0.94, "bed.bed 3.floor": 0.92, "run.*.length": 2.0},
     {"bed.*.floor": 0.94, "bed.bed 3.floor": 0.93, "run.*.length": 2.0}, "siphon.siphon.standpipe.height"),
    ({"run.tee 3.outfall": 0.5 - 5e-10}, {"run.tee 3.outfall": 0.5 - 2e-9}, "run.tee 3.outfall"),
    ({"run.tee 3.outfall": 0.9791, "run.tee 3.length": 2.0},
     {"run.tee 3.outfall": 0.9792, "run.tee 3.length": 2.0}, "run.tee 3.outfall"),
    ({"run.bed 1.outfall": 0.59 + 5e-10}, {"run.bed 1.outfall": 0.59 + 2e-9}, "run.bed 1.outfall"),
    ({"run.bed 1.outfall": 0.59 - 5e-10}, {"run.bed 1.outfall": 0.59 - 2e-9}, "run.bed 1.outfall"),
    ({"run.bed 3.length": 0.096}, {"run.bed 3.length": 0.093}, "run.bed 3.length"),
    ({"siphon.standpipe.entry": "square", "siphon.bell.bore": 0.0483}, {"siphon.bell.bore": 0.03},
     "siphon.siphon.bell.bore"),
    ({"siphon.bell.bore": 0.0888}, {"siphon.bell.bore": 0.0889}, "siphon.siphon.bell.bore"),
    ({"run.bed 1.bore": 0.0482}, {"run.bed 1.bore": 0.0483}, "run.bed 1.bore"),
]  # fmt: skip


@pytest.mark.parametrize(("may", "may_not", "key"), JUST, ids=[f"{n} {j[2]}" for n, j in enumerate(JUST)])
def test_a_value_just_inside_a_limit_and_one_just_outside(may, may_not, key):
    """The limits follow from the demo's file: the chamber's wall is at 1.02 m, the bell's rim at 0.53 m."""
    assert key not in {fault.key for fault in faults_of(edit.put(DEMO, may))}
    assert key in {fault.key for fault in faults_of(edit.put(DEMO, may_not))}


@pytest.mark.parametrize(
    ("pump", "said"),
    [
        ({"flow": None, "curve": ((0.0, 3.0), (1e-3, 0.0))}, ""),
        ({"flow": 3e-4, "curve": ()}, ""),
        ({"flow": None, "curve": ()}, "are both missing"),
        ({"flow": 3e-4, "curve": ((0.0, 3.0), (1e-3, 0.0))}, "are both given"),
        ({"flow": None, "curve": ((0.0, 3.0),)}, "not a falling curve"),
        ({"flow": None, "curve": ((0.0, 3.0), (0.0, 0.0))}, "not a falling curve"),
        ({"flow": None, "curve": ((0.0, 3.0), (1e-3, 3.0))}, "not a falling curve"),
        ({"flow": None, "curve": ((0.0, 3.0), (1e-3, 1.0), (5e-4, 0.0))}, "not a falling curve"),
        ({"flow": None, "curve": ((0.0, 3.0), (5e-4, 1.0), (1e-3, 2.0))}, "not a falling curve"),
        ({"flow": None, "curve": ((-1e-4, 3.0), (1e-3, 0.0))}, "negative or not finite"),
        ({"flow": None, "curve": ((0.0, 3.0), (1e-3, -0.1))}, "negative or not finite"),
        ({"flow": None, "curve": ((0.0, math.inf), (1e-3, 0.0))}, "negative or not finite"),
        ({"on": 600.0, "off": 600.0}, ""),
        ({"on": 600.0}, "off is missing"),
        ({"off": 600.0}, "on is missing"),
    ],
)
def test_a_pump_is_told_by_one_flow_or_a_falling_curve_and_both_times(pump, said):
    faults = faults_of(replace(DEMO, pump=replace(DEMO.pump, **pump)))
    assert [said in str(fault.reason) for fault in faults] == ([True] if said else []), faults
    bare = replace(DEMO.pump, flow=None, curve=((0.0, 3.0), (1e-3, 0.0)), delivery=None)
    assert "pump.delivery" in {fault.key for fault in faults_of(replace(DEMO, pump=bare))}


@pytest.mark.parametrize(
    ("fittings", "said"),
    [
        ([("entrance, square", 1, 0.5), ("bend 90, short", 1, 0.0), ("tee, branch", 1, 1.0)], ""),
        ([("bend 90, short", 1, 0.9), ("tee, branch", 1, 1.0)], "does not begin with an entrance"),
        ([], "does not begin with an entrance"),
        ([("entrance, square", 1, 0.5), ("tee, branch", 1, -0.1)], "not a loss coefficient"),
        ([("entrance, square", 1, 0.5), ("tee, branch", 1, math.inf)], "not a loss coefficient"),
        ([("entrance, square", 1, 0.5), ("tee, branch", 0, 1.0)], "not a loss coefficient"),
        ([("entrance, square", 2, 0.5), ("tee, branch", 1, 1.0)], "no such end"),
        ([("entrance, square", 1, 0.5), ("exit", 1, 1.0)], "no such end"),
        (
            [("entrance, square", 1, 0.5), ("entrance, square", 1, 0.5), ("tee, branch", 1, 1.0)],
            "no such end",
        ),
    ],
)
def test_fittings_of_a_line_from_a_bed_to_a_tee(fittings, said):
    """It begins with one entrance and has no exit; each coefficient is 0 or more, of one fitting or more."""
    made = tuple(Fitting(name, count, k, given=True) for name, count, k in fittings)
    runs = tuple(replace(r, fittings=made) if r.start == "bed 2" else r for r in DEMO.runs)
    faults = faults_of(replace(DEMO, runs=runs))
    assert [said in fault.reason for fault in faults] == ([True] if said else []), faults


@pytest.mark.parametrize(
    ("fittings", "said"),
    [
        ([("bend 45", 1, 0.4), ("exit", 1, 1.0)], ""),
        ([("bend 45", 1, 0.4)], "does not end with an exit"),
        ([("exit", 1, 1.0), ("bend 45", 1, 0.4)], "does not end with an exit"),
        ([("exit", 1, 1.0), ("exit", 1, 1.0)], "no such end"),
        ([("bend 45", 1, 0.4), ("exit", 2, 1.0)], "no such end"),
        ([("entrance, square", 1, 0.5), ("exit", 1, 1.0)], "no such end"),
    ],
)
def test_fittings_of_a_tail(fittings, said):
    """A tail begins in the standpipe and ends with one exit."""
    made = tuple(Fitting(name, count, k, given=True) for name, count, k in fittings)
    siphon = DEMO.siphons[0]
    siphon = replace(siphon, tail=replace(siphon.tail, fittings=made))
    reasons = {fault.reason for fault in faults_of(replace(DEMO, siphons=(siphon,)))}
    assert any(said in reason for reason in reasons) is bool(said), reasons


def test_a_spacing_is_told_in_whole_mm_that_were_measured():
    """From 0 to 6.6 times the bore of 40.9 mm, or what the table of two smooth 45s has for its ends."""
    low, high = (round_ * 40.894 for round_ in (TWO_45_SMOOTH[0][0], TWO_45_SMOOTH[-1][0]))
    span = f"{math.ceil(low)} to {math.floor(high)} mm"
    with pytest.raises(PlanError, match=span):
        plan_from_text(changed(('spacing = "80 mm"', f'spacing = "{high + 0.2:.2f} mm"')))
    assert plan_from_text(changed(('spacing = "80 mm"', f'spacing = "{high - 0.2:.2f} mm"')))


def test_twenty_faults_are_told_and_the_rest_counted():
    faults = [Fault(f"bed.bed {n}.length", "x", "is wrong", "mend it") for n in range(25)]
    for count, told, more in ((25, 20, 5), (20, 20, 0), (1, 1, 0)):
        error = PlanError.of("plan.toml", faults[:count])
        assert (len(error.as_dict()["faults"]), error.as_dict()["more"]) == (told, more)
        assert ("and 5 more" in str(error)) is (more == 5)
        assert "and 0 more" not in str(error)


def test_a_chamber_that_no_siphon_empties_is_said():
    """It ended in a traceback, and so did a second [[chamber]] typed by mistake."""
    second = TEXT.replace(
        "[[siphon]]",
        '[[chamber]]\nname = "well"\ndiameter = "300 mm"\ndepth = "500 mm"\nfloor = "0.5 m"\n\n[[siphon]]',
    )
    with pytest.raises(PlanError, match='well": has no siphon'):
        plan_from_text(second)
    with pytest.raises(PlanError, match="has no siphon"):
        plan_from_text(TEXT.replace("[[chamber]]", "[[chamber]]\n[[chamber]]"))
