"""The numbers of the build sheet's tables worked out a second way, from the plan and the tables of data/.

Take-offs, sockets and passages are read from their CSV here, lengths add up to what the plan says, areas
and weights are arithmetic written here. Tables are read as a spreadsheet would.
"""

import csv
import functools
import io
import math
import re
from dataclasses import replace

import pytest
from iapws import IAPWS95

from aquacalc.buildsheet import tables
from aquacalc.buildsheet.cut_list import cut_list
from aquacalc.buildsheet.drilling import cutouts, drilling
from aquacalc.buildsheet.materials import bill
from aquacalc.buildsheet.stock import Workshop
from aquacalc.buildsheet.weight import bed_weight
from aquacalc.catalogue import data_dir
from aquacalc.geometry.strainers import strainers
from aquacalc.plan import edit, plan_from_text, read_plan
from aquacalc.plan.model import Strainer
from tests.independent import area_of
from tests.plan.generated import plan_text
from tests.report.second_way import SecondWay, circle
from tests.report.test_text import PLANS

pytestmark = pytest.mark.identity
NAMES = [*PLANS, *(f"seed {n}" for n in range(24))]
KERF = 0.003


@functools.cache
def plan_of(name):
    if name.startswith("seed "):
        return plan_from_text(plan_text(int(name[5:])))
    return read_plan(PLANS[name])


@functools.cache
def cuts_of(name):
    return cut_list(plan_of(name), Workshop(kerf=KERF))


def read(table):
    """Rows of a table as its CSV has them, by column; the total apart where there is one."""
    rows = list(csv.DictReader(io.StringIO(table.csv())))
    return (rows[:-1], rows[-1]) if table.total else (rows, None)


@functools.cache
def listed(name):
    with (data_dir() / f"{name}.csv").open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def socket(pipe):
    for row in listed("sockets"):
        if (row["series"], row["size"]) == (pipe.series, pipe.size):
            return float(row["depth"])
    return 0.5 * pipe.outside_diameter * 1e3 + 6.0


def taken(joint, pipe, plan):
    """Take-off of a joint, mm, by its name in the cut list; None for one that is nowhere listed."""
    if joint in {tee.name for tee in plan.tees}:
        joint = "tee, branch"
    row = next((r for r in listed("takeoffs") if r["fitting"] == joint), None)
    if row is not None:
        across = float(row["per_outside"]) * pipe.outside_diameter + float(row["per_bore"]) * pipe.bore
        return across * 1e3 + float(row["fixed"])
    if joint.startswith("rubber pipe seal"):
        return -10.0  # 6 mm stand inside the face, and a chamfer of 4
    if joint.startswith("tank fitting"):
        stop = socket(pipe) - 10.0
        return None if stop < 0 else stop
    return 0.0 if joint in ("lip", "reducer", "open end", "pump outlet", "foot", "cap") else None


def to_inches(text):
    found = re.fullmatch(r"(?:(\d+)(?:-|$))?(?:(\d+)/(\d+))?", text)
    return int(found[1] or 0) + (int(found[2]) / int(found[3]) if found[2] else 0.0)


@pytest.mark.parametrize("name", NAMES)
def test_cut_list(name):
    plan, cuts = plan_of(name), cuts_of(name)
    rows, total = read(tables.cuts_table(cuts))
    assert sum(int(row["cut, mm"]) for row in rows) == int(total["cut, mm"])
    series = {cut.pipe.series for cut in cuts.cuts}
    intro = tables.cuts_table(cuts).intro
    assert intro.startswith(f"All pipe is {min(series)}. ") == (len(series) == 1)
    for row, cut in zip(rows, cuts.cuts, strict=True):
        size = cut.pipe.size if len(series) == 1 else f"{cut.pipe.series} {cut.pipe.size}"
        assert row["pipe"] == size
    known = 0
    us, _ = read(tables.cuts_table(cuts, "us"))
    for row, inch, cut in zip(rows, us, cuts.cuts, strict=True):
        length = int(row["cut, mm"])
        assert not any("mm" in head for head in inch)
        if length > 0:
            assert to_inches(inch["cut, in"]) * 25.4 == pytest.approx(length, abs=25.4 / 32 + 1e-6)
        first, last = row["from > to"].split(" > ")
        ends = [taken(end, cut.pipe, plan) for end in (first, last)]
        if "standpipe" in row["way"] and last.startswith("tank fitting"):
            ends[1] = -(socket(cut.pipe) - 10.0)  # stands in the fitting from above
        if "coupling" in (first, last) or None in ends:
            continue
        # A piece gains or gives up to 1 mm so that the whole mm of a way add up; middles are whole mm too.
        centre = int(row["between middles, mm"])
        assert length == pytest.approx(centre - sum(ends), abs=1.6), row
        hidden = [int(x) for x in row["hidden, mm"].split(" / ")]
        for end, depth in zip((first, last), hidden, strict=True):
            if end.startswith("rubber pipe seal"):
                assert depth == 10
            elif end in ("lip", "open end", "pump outlet", "foot"):
                assert depth == 0
            else:
                assert depth == pytest.approx(socket(cut.pipe), abs=0.51), row
        known += 1
    assert known >= len(rows) / 3


@pytest.mark.parametrize("name", NAMES)
def test_ways_are_as_long_as_the_plan_says(name):
    """Joined end to end along their middles: standpipe and tail, delivery, and every run."""
    plan, cuts = plan_of(name), cuts_of(name)

    def joined(ways):
        pieces = [piece for way in ways for piece in way.pieces]
        return sum(piece.centre for piece in pieces), sum(piece.drop for piece in pieces), pieces

    for siphon in plan.siphons:
        ways = [way for way in cuts.ways if way.name.startswith(f"{siphon.name}: ")]
        length, drop, pieces = joined(ways)
        stand, tail = siphon.standpipe, siphon.tail
        lip = stand.height - (stand.cone_length if stand.lip_diameter > stand.pipe.bore else 0.0)
        fall = lip + plan.vessel(siphon.host).floor - tail.outlet
        half = 0.5 * tail.pipe.bore  # where the last piece lies level, its middle is that much higher
        assert drop == pytest.approx(fall, abs=1e-3) or drop == pytest.approx(fall - half, abs=1e-3)
        if any(piece.heading != "upright" for piece in pieces):
            assert length == pytest.approx(lip + tail.length, abs=1e-3), siphon.name
        assert pieces[0].heading == "upright"
        assert pieces[0].drop > 0.0
    delivery = plan.pump.delivery
    if delivery:
        (way,) = (way for way in cuts.ways if way.name == "delivery")
        length, drop, pieces = joined([way])
        assert -drop == pytest.approx(delivery.outlet - plan.sump.floor - plan.pump.intake, abs=1e-3)
        if any(piece.heading != "upright" for piece in pieces):
            assert length == pytest.approx(delivery.length, abs=1e-3)
    for run, way in zip(plan.runs, cuts.ways, strict=False):
        length, _, pieces = joined([way])
        if any(piece.heading != "upright" for piece in pieces):
            assert length == pytest.approx(run.length, abs=1e-3), way.name


@pytest.mark.parametrize("name", NAMES)
def test_stock(name):
    cuts = cuts_of(name)
    lengths = {row["mark"]: int(row["cut, mm"]) for row in read(tables.cuts_table(cuts))[0]}
    rows, total = read(tables.stock_table(cuts, Workshop(kerf=KERF)))
    for row in rows:
        marks = row["pieces"].split()
        used = sum(lengths[mark] for mark in marks)
        assert used == int(row["used, mm"])
        assert int(row["left, mm"]) == int(row["length, mm"]) - used
        assert int(row["left, mm"]) >= KERF * 1e3 * (len(marks) - 1) - 1e-6
    for column in ("length, mm", "used, mm", "left, mm"):
        assert int(total[column]) == sum(int(row[column]) for row in rows)
    note = tables.stock_table(cuts, Workshop(kerf=KERF)).notes[0]
    share = 100.0 * int(total["left, mm"]) / int(total["length, mm"])
    assert note.startswith(f"{share:.0f} % of the pipe"), note


@pytest.mark.parametrize("name", NAMES)
def test_openings(name):
    plan = replace(plan_of(name), units="metric")
    rows, _ = read(tables.openings_table(plan, strainers(plan), cutouts(plan)))
    by_piece = {row["piece"]: row for row in rows}
    few = []
    for bed in plan.beds:
        run = next((r for r in plan.runs if r.start == bed.name), None)
        if bed.strainer is None or run is None:
            assert f"strainer of {bed.name}" not in by_piece
            continue
        row, s = by_piece[f"strainer of {bed.name}"], bed.strainer
        one = s.width * s.length if s.kind == "slots" else circle(s.width)
        asked = plan.limits.strainer_ratio * circle(run.pipe.bore)
        assert int(row["count"]) == s.count
        assert float(row["area, cm²"]) == pytest.approx(s.count * one * 1e4, abs=0.051)
        assert float(row["area asked, cm²"]) == pytest.approx(asked * 1e4, abs=0.051)
        assert int(row["fewest for the area"]) == math.ceil(asked / one - 1e-9)
        if s.count * one < asked * (1 - 1e-9):
            few.append(bed.name)
        rings, around, along, apart = (
            float(x) for x in re.fullmatch(
                r"(\d+) rings of (\d+); ([\d.]+) mm along, (\d+) around; first edge [\d.]+ mm from the .+",
                row["where"],
            ).groups()
        )  # fmt: skip
        (cut,) = (c for c in strainers(plan) if c.bed == bed.name)
        if bed.outlet == "floor":  # a wider tube stands over the pipe's end
            assert cut.pipe.bore >= run.pipe.outside_diameter + 0.003
        else:
            assert cut.pipe == run.pipe
        wall = math.pi * cut.pipe.outside_diameter
        across = s.length if s.kind == "slots" else s.width
        assert (rings - 1) * around < s.count <= rings * around
        assert float(row["wall left, %"]) == pytest.approx(100 * (1 - around * across / wall), abs=0.51)
        assert float(row["wall left, %"]) >= 49.5 or around == 1
        assert apart == pytest.approx(wall * 1e3 / around, abs=0.51)
        assert along == pytest.approx((s.width + max(s.width, 0.005)) * 1e3, abs=0.051)
    notes = tables.openings_table(plan, strainers(plan), cutouts(plan)).notes
    said = [note for note in notes if note.startswith("Too few")]
    assert said == ([f"Too few openings for the area asked for: {', '.join(few)}."] if few else [])
    for siphon in plan.siphons:
        row, bell = by_piece[f"bell of {siphon.name}"], siphon.bell
        area = bell.openings * bell.opening_width * bell.opening_height
        assert float(row["area, cm²"]) == pytest.approx(area * 1e4, abs=0.051)
        wall = math.pi * bell.outside_diameter
        assert float(row["wall left, %"]) == pytest.approx(
            100 * (1 - bell.openings * bell.opening_width / wall), abs=0.51
        )
        assert f"middles {wall * 1e3 / bell.openings:.0f} mm around" in row["where"]


def keeps(fixing, bed, pipe, plan):
    """Depth (mm) that a strainer made so keeps over a floor outlet, by take-offs and sockets."""
    end, own = 10.0, bed.seal == "tank fitting"  # 6 mm of pipe and a chamfer of 4, or the fitting's flange
    if fixing == "lying on the floor":
        middle = end * own + socket(pipe) + taken("bend 90, sharp", pipe, plan)
        return max(end, middle - 500.0 * pipe.bore)
    bridge = max(1e3 * bed.strainer.width, 5.0)
    upper = end if own else 2.0 * (socket(pipe) + taken("coupling", pipe, plan))
    return max(end, upper + bridge) if fixing == "in a coupling" else end


@pytest.mark.parametrize("name", NAMES)
def test_outlets(name):
    """What each way to make the strainer leaves in the bed, over a floor outlet or a side outlet's invert."""
    plan = plan_of(name)
    rows, _ = read(tables.outlets_table(plan))
    runs = {run.start: run for run in plan.runs}
    beds = [bed for bed in plan.beds if bed.name in runs]
    assert [row["bed"] for row in rows] == [bed.name for bed in beds]
    ways = [column.partition(",")[0] for column in rows[0]][4:] if rows else []
    for row, bed in zip(rows, beds, strict=True):
        _, outlet, made, sill, *others = row.values()
        assert (outlet, made) == (bed.outlet, bed.strainer.fixing if bed.strainer else "no strainer")
        height = 1e3 * bed.outlet_height if bed.outlet == "side" else 0.0
        for way, text in zip(ways, others, strict=True):
            if bed.strainer is None:
                assert text == ""
                continue
            kept = 0.0 if bed.outlet == "side" else keeps(way, bed, runs[bed.name].pipe, plan)
            size, step = (25.4 * to_inches(text), 25.4 / 32) if plan.units == "us" else (float(text), 0.5)
            assert size == pytest.approx(height + kept, abs=step + 0.01), (bed.name, way)
            assert way != made or sill == text


@pytest.mark.parametrize("name", NAMES)
def test_drilling(name):
    plan = plan_of(name)
    rows, _ = read(tables.holes_table(drilling(plan, Workshop()), Workshop()))
    for hole in drilling(plan, Workshop()):
        if hole.wall == "floor":  # the least wall beside the widest hole
            widest = max(hole.diameters, default=hole.pipe.outside_diameter)
            assert hole.edge == pytest.approx(min(hole.along, hole.across) - widest / 2)
    found = {(row["vessel"], row["hole"]): row for row in rows}
    expected = {}
    for bed in plan.beds:
        for run in plan.runs:
            if run.start == bed.name:
                high = bed.outlet_height + run.pipe.bore / 2 if bed.outlet == "side" else None
                expected[bed.name, f"outlet to {run.to}"] = high
    for run in plan.runs:
        if run.to not in {tee.name for tee in plan.tees}:
            into = plan.vessel(run.to)
            expected[run.to, f"inlet from {run.start}"] = run.outfall - into.floor + run.pipe.bore / 2
    for siphon in plan.siphons:
        expected[siphon.host, f"standpipe of {siphon.name}"] = None
    assert set(found) == set(expected)
    for key, high in expected.items():
        where = found[key]["where"]
        if high is not None:
            assert where.endswith(f"middle {high * 1e3:.0f} mm above the floor inside"), where
            continue
        along, across = map(int, re.search(r"(\d+) mm from the end, (\d+) mm from the side", where).groups())
        shape = plan.vessel(key[0]).shape
        wide = {
            "rectangular": ("length", "width"),
            "tapered": ("length", "width"),
            "half drum": ("length", "diameter"),
            "round": ("diameter", "diameter"),
        }.get(shape.kind)
        circle = 2 * math.sqrt(area_of(shape, 0.0) / math.pi)
        wide = [getattr(shape, side) for side in wide] if wide else [circle, circle]
        assert (along, across) == pytest.approx((wide[0] * 500, wide[1] * 500), abs=0.51)


@pytest.mark.parametrize("name", NAMES)
def test_weight(name):
    plan = plan_of(name)
    way = SecondWay(plan, {"sections": []})
    lips = {bed.name: plan.lip_level(way.hosts[bed.name]) for bed in plan.beds}
    table = tables.weight_table(tuple(bed_weight(plan, bed, lips[bed.name]) for bed in plan.beds), plan)
    rows, _ = read(table)
    density = IAPWS95(T=plan.water_temperature + 273.15, P=0.101325).rho
    pound, load = (0.45359237, 0.45359237 / 0.3048**2) if plan.units == "us" else (1.0, 1.0)
    for row, bed in zip(rows, plan.beds, strict=True):
        numbers = {key.split(",")[0]: float(x) for key, x in row.items() if x and key != "bed"}
        siphon, steps = way.hosts[bed.name], 2000
        lip = plan.vessel(siphon.host).floor + siphon.standpipe.height
        rim = bed.floor + bed.shape.depth
        dz = bed.media.depth / steps
        guards = sum(circle(x.media_guard) for x in plan.siphons if x.host == bed.name)  # hold no media
        media = sum(area_of(bed.shape, (i + 0.5) * dz) - guards for i in range(steps)) * dz
        media *= bed.media.bulk_density
        dry = bed.empty_mass + media
        wet = dry + density * way.held(bed, max(min(lip, rim), bed.floor))
        full = dry + density * way.held(bed, rim)
        area = area_of(bed.shape, 0.0)
        if bed.shape.kind == "half drum":  # it covers what its diameter covers
            area = bed.shape.length * bed.shape.diameter
        expected = {
            "empty": bed.empty_mass / pound, "media": media / pound, "dry": dry / pound,
            "flooded": wet / pound, "full": full / pound, "supports": bed.supports,
            "on each support": full / bed.supports / pound,
            "over its area": full / area / load,
        }  # fmt: skip
        if plan.limits.floor_load:
            expected["floor takes"] = plan.limits.floor_load / load
        # Three digits, and a half drum's volume to 0.2 %.
        assert numbers == {key: pytest.approx(x, rel=7e-3) for key, x in expected.items()}, bed.name


@pytest.mark.parametrize("name", NAMES)
def test_materials(name):
    plan, cuts = plan_of(name), cuts_of(name)
    holes = drilling(plan, Workshop())
    way = SecondWay(plan, {"sections": []})
    listed_ = bill(plan, cuts, holes, Workshop().prices)
    rows, _ = read(tables.bill_table(listed_, Workshop()))

    def count(*items):
        return sum(float(row["quantity"]) for row in rows if row["item"] in items)

    assert count("rubber pipe seal", "tank fitting") == len(holes)
    single = [row for row in rows if row["unit"] == "each" and row["item"] != "pipe"]
    assert listed_.parts == sum(int(row["quantity"]) for row in single)
    drained = {run.start for run in plan.runs}
    strained = sum(1 for bed in plan.beds if bed.name in drained and bed.strainer)
    bells = sum(1 for siphon in plan.siphons if siphon.bell.series)
    into = {tee.name: sum(1 for run in plan.runs if run.to == tee.name) for tee in plan.tees}
    ends = sum(1 for number in into.values() if number == 1)  # a tee with one way in has one capped
    assert count("cap") == strained + bells + ends
    reducers = sum(siphon.standpipe.lip_diameter > siphon.standpipe.pipe.bore for siphon in plan.siphons)
    for tee in plan.tees:
        outsides = [run.pipe.outside_diameter for run in plan.runs if tee.name in (run.start, run.to)]
        reducers += sum(outside < max(outsides) for outside in outsides)
    for siphon in plan.siphons:  # a standpipe of another pipe than its tail is reduced below a seal
        first = next(bed for bed in plan.beds if bed.name == siphon.host or way.hosts[bed.name] is siphon)
        if siphon.host in {bed.name for bed in plan.beds}:
            first = plan.vessel(siphon.host)
        pipes = [(p.series, p.size, p.outside_diameter) for p in (siphon.standpipe.pipe, siphon.tail.pipe)]
        reducers += first.seal == "rubber pipe seal" and pipes[0] != pipes[1]
    assert count("reducer") == reducers
    assert count("tee") == sum(max(number - 1, 1) for number in into.values())
    for media in {bed.media.name for bed in plan.beds}:
        litres = 0.0
        for bed in plan.beds:
            if bed.media.name == media:
                dz = bed.media.depth / 4000
                litres += sum(area_of(bed.shape, (i + 0.5) * dz) for i in range(4000)) * dz * 1e3
        bought = count(media) * (3.785411784 if plan.units == "us" else 1.0)  # whole gallons, or whole litres
        assert bought == pytest.approx(litres, rel=1e-3, abs=bought / count(media))
        assert bought >= litres * (1 - 1e-3)
    assert count("grow bed") == len(plan.beds)
    assert count("siphon chamber") == len(plan.chambers)


def test_a_plan_in_us_units_has_inches_in_every_column():
    """The same pieces and holes: each length in inches to a sixteenth, none in mm."""
    plan, workshop = plan_of("us-units"), Workshop(kerf=KERF)
    cuts, holes = cuts_of("us-units"), drilling(plan, workshop)
    made = [
        tables.cuts_table(cuts, "us"), tables.stock_table(cuts, workshop, "us"),
        tables.holes_table(holes, workshop, "us"), tables.outlets_table(plan),
        tables.openings_table(plan, strainers(plan), cutouts(plan)),
    ]  # fmt: skip
    for table in made:
        heads = [c for c in table.columns if c.endswith((", mm", " cm²"))]
        assert heads == [], table.key
        assert not re.search(r"\d mm", " ".join(cell for row in table.rows for cell in row)), table.key
    for row, cut in zip(read(made[0])[0], cuts.cuts, strict=True):
        whole, _, part = row["cut, in"].rpartition("-")
        top, _, bottom = part.partition("/")
        shown = float(whole or 0) + (float(top) / float(bottom) if bottom else float(top))
        assert shown * 25.4 == pytest.approx(cut.length * 1e3, abs=25.4 / 32 + 1e-6)


@pytest.mark.parametrize(("width", "length", "size"), [
    (0.003, 0.0254, "slot 0.118 x 1 in"), (0.003175, 0.020, "slot 1/8 x 0.787 in"),
    (0.0015875, 0.03175, "slot 1/16 x 1-1/4 in"), (0.0016, 0.0381, "slot 1/16 x 1-1/2 in"),
    (0.00161, 0.0381, "slot 0.063 x 1-1/2 in"),
])  # fmt: skip
def test_openings_in_inches_are_sixteenths_or_thousandths(width, length, size):
    """3 mm is 0.118 in, 3.175 mm an eighth; 1.6 mm is 0.8 % over a sixteenth, 1.61 mm 1.4 %."""
    plan = edit.put(plan_of("us-units"), {"bed.*.strainer": Strainer("slots", 30, width, length)})
    (row, *_) = read(tables.openings_table(plan, strainers(plan), cutouts(plan)))[0]
    assert list(row.values())[1] == size
