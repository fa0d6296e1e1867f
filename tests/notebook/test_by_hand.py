"""What workbooks show, worked out by hand: steps of sliders, tables, bends, openings, sizes, forms."""

import functools
import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from aquacalc import catalogue
from aquacalc.catalogue import data_dir
from aquacalc.equations.formulas import GRAVITY
from aquacalc.figures.head_budget import siphon_losses
from aquacalc.notebook import alternatives, drain_panels, plan_panel, readings_form, strainer_panels
from aquacalc.notebook import panel_pictures as pictures
from aquacalc.notebook import tuning_panels as tuning
from aquacalc.notebook.alternatives import _stretches, unspoken
from aquacalc.notebook.entry import Entry, _bare
from aquacalc.notebook.film import Film
from aquacalc.notebook.kitchen_form import INVENTED, KitchenForm
from aquacalc.notebook.reader_units import use
from aquacalc.notebook.save_row import SaveRow
from aquacalc.notebook.slider import Knob, grid
from aquacalc.notebook.table import Grid
from aquacalc.notebook.table import grid as table
from aquacalc.plan import edit
from aquacalc.plan.model import Fitting
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.teaching import ask
from aquacalc.units import UnitError

pytestmark = pytest.mark.identity


@functools.cache
def demo(name="greenhouse"):
    return read_plan(data_dir() / "plans" / f"{name}.toml")


@functools.cache
def ran(name="greenhouse"):
    return run_plan(demo(name))


# Sliders


@pytest.mark.parametrize(
    ("low", "high", "kind", "whole", "made"),
    [
        (0.0, 0.060, "length", False, (0.0, 60.0, 1.0, 0)),  # 60 steps of 1 mm
        (0.0, 0.0599, "length", False, (0.0, 60.0, 0.5, 1)),  # 1 mm would be fewer than 60
        (0.0, 0.120, "length", False, (0.0, 120.0, 2.0, 0)),
        (0.0, 0.299, "length", False, (0.0, 300.0, 2.0, 0)),
        (0.0, 0.300, "length", False, (0.0, 300.0, 5.0, 0)),
        (0.0013, 0.0607, "length", False, (1.0, 61.0, 0.5, 1)),
        (0.0001, 0.0601, "length", False, (1.0, 61.0, 1.0, 0)),
        (-0.0001, 0.0601, "elevation", False, None), (1.0, 20.0, "number", True, (1.0, 20.0, 1.0, 0)),
        (1.0, 20.0, "number", False, (1.0, 20.0, 0.2, 1)),
        (0.0, 600.0, "number", True, (0.0, 600.0, 10.0, 0)),
    ],
)  # fmt: skip
def test_a_slider_has_sixty_round_steps_at_least(low, high, kind, whole, made):
    found = grid(low, high, kind, "metric", whole)
    if made:
        assert found == made
    else:
        assert found[0] < 0.0


def knob(**more):
    moves = []
    given = {"low": 0.0, "high": 0.060, "start": 0.0205, "system": "metric"} | more
    made = Knob("Depth", "length", given["low"], given["high"], given["start"], lambda: moves.append(made.si),
                given["system"], given.get("whole", False))  # fmt: skip
    return made, moves


def test_a_knob_keeps_a_first_value_between_steps_until_it_is_moved():
    made, moves = knob(start=0.02053)
    assert made.si == 0.02053
    assert (made.slider.value, made.box.value) == (20.5, 20.5)
    made.slider.value = 21.0  # a page takes 20.5 up to the next step: no move of the reader's
    assert (made.si, moves) == (0.02053, [])
    made.slider.value = 22.0
    assert made.si == pytest.approx(0.022)
    assert len(moves) == 1
    assert made.box.value == 22.0
    made.slider.value = 22.00000000000001
    assert len(moves) == 1
    made.slider.value = 21.0
    assert (made.si, len(moves)) == (pytest.approx(0.021), 2)


def test_a_box_takes_two_digits_more_than_the_slider_and_whole_numbers_only_where_they_are():
    made, moves = knob()
    made.box.value = 33.333333
    assert made.si == pytest.approx(0.03333)
    made.box.value = 99.0
    assert made.si == pytest.approx(0.060)
    assert len(moves) == 2
    count = []
    whole = Knob("Holes", "number", 1, 60, 7.0, lambda: count.append(1), "metric", True)
    whole.box.value = 12.4
    assert (whole.si, whole.slider.value) == (12.0, 12.0)


def test_a_knob_set_from_outside_stops_at_its_ends():
    made, moves = knob()
    for value, stays in ((1.0, 0.060), (-1.0, 0.0), (0.030, 0.030)):
        made.si = value
        assert made.si == pytest.approx(stays)
        assert made.slider.value == pytest.approx(1e3 * stays)
    made.si = 0.030
    assert len(moves) == 3
    made.switch("us")
    assert len(moves) == 3
    assert made.si == 0.030
    assert made.slider.description == "Depth (in)"
    assert made.slider.value == pytest.approx(0.030 / 0.0254, abs=0.006)


def test_the_water_steps_on_and_back_and_begins_again():
    moment = Knob("Moment", "number", 0, 100, 99, lambda: None, "metric", True)
    film = Film(moment)
    assert film.play.playing is False
    assert (film.play.repeat, film.play.show_repeat, film.play.value) == (True, False, 99)
    seen = []
    for button in (film.on, film.on, film.on, film.back, film.back, film.back):
        button.click()
        seen.append((film.play.value, moment.si))
    assert seen == [(100, 100.0), (0, 0.0), (1, 1.0), (0, 0.0), (100, 100.0), (99, 99.0)]
    film.play.playing = True
    film.on.click()
    assert film.play.playing is False
    film.speed.value = "fast"
    assert film.play.interval == 100
    moment.box.value = 42
    assert film.play.value == 42


# Forms


@pytest.mark.parametrize(
    ("text", "bare"),
    [("12", True), (" 12.5 ", True), ("-3", True), ("1.2.3", False), ("3 mm", False), ("", False),
     ("--3", False)],
)  # fmt: skip
def test_a_number_without_a_unit_is_bare(text, bare):
    assert _bare(text) == bare


def test_what_is_typed_is_in_the_unit_shown_and_kept_with_it():
    line = Entry(("form", "depth"), "Depth", "length", ("value", "error"))
    assert line.name.value == "Depth (mm)"
    line.boxes[0].value, line.boxes[1].value = "254", "1 in"
    assert (line.value(), line.value(1)) == (pytest.approx(0.254), pytest.approx(0.0254))
    use("us")
    assert line.name.value == "Depth (in)"
    assert line.texts == ("10.00", "1 in")
    assert line.boxes[0].tooltip == "Depth (in), value"
    again = Entry(("form", "depth"), "Depth", "length", ("value", "error"))
    assert again.texts == ("10.00", "1")
    use("metric")
    assert (line.value(), line.texts[1]) == (pytest.approx(0.254), "1 in")
    line.put(0.12345678, 0.0012345)
    assert line.texts == ("123.5", "1.2")
    third = Entry(("form", "depth"), "Depth", "length", ("value", "error"))
    assert third.value() == pytest.approx(0.254)  # what was put in was not typed
    line.boxes[0].value = "deep"
    with pytest.raises(UnitError, match="Depth"):
        line.value()


def test_the_kitchen_form_is_invented_until_one_box_is_filled():
    form = KitchenForm()
    assert form.seen is INVENTED
    assert "invented" in form.table.text
    form.lines[0].boxes[1].value = "30"  # one of eight
    with pytest.raises(UnitError):
        assert form.seen
    form.show()
    assert "<table" not in form.reply.value
    for line, values in zip(form.lines, (("20", "38"), ("20", "20"), ("4.5", "20"), ("9", "6")), strict=True):
        for box, value in zip(line.boxes, values, strict=True):
            box.value = value
    form.show()
    plain, wide = form.table.table.rows
    # Froude 0.3 to 1 in 20 mm: 0.3 to 1 of pi/4 d^2 sqrt(g d) = 8.35 L/min
    full = 60e3 * math.pi / 4 * 0.02**2 * math.sqrt(9.80665 * 0.02)
    assert plain[2] == f"{0.3 * full:.2f} to {full:.2f} L/min, inside".replace(" to ", " L/min to ")
    assert wide[2].endswith("outside")
    assert "Your numbers." in form.table.text
    # over the lip as a weir: Q = C L h^1.5 on its way round
    h = ((4.5 / 60e3) / (1.71 * math.pi * 0.020)) ** (2 / 3)
    assert float(plain[4].split()[0]) == pytest.approx(1e3 * h, rel=0.06)
    form.close()


def test_a_question_answers_when_its_box_is_left_and_not_at_every_key():
    assert ask("slots").box.children[1].children[0].continuous_update is False
    assert ask("which bend").box.children[1].children[0].placeholder == "a, b or c"
    assert ask("slots").box.children[1].children[0].placeholder == "number and unit"


# Tables


def test_a_table_in_text_has_numbers_at_the_right():
    made = table("T", ["name", "n"], [["a", 5], ["long name", 123]], "A note.")
    assert made.text.splitlines() == ["T", "name         n", "a            5", "long name  123", "A note."]
    assert "text-align:right" in made.html
    assert made.html.count("<p>A note.</p>") == 1


@pytest.mark.parametrize(("letters", "nowrap", "room"), [(11, True, False), (12, False, False),
(36, False, False),
                                                         (37, False, True)])  # fmt: skip
def test_a_cell_is_kept_on_one_line_or_given_room_by_its_length(letters, nowrap, room):
    html = table("T", ["h" * 11, "b"], [["x" * letters, "y" * 20]]).html
    cell = next(part for part in html.split("<td") if "x" * letters in part)
    assert ("white-space:nowrap" in cell) == nowrap
    assert ("min-width:9em" in cell) == room
    head = next(part for part in html.split("<th") if "h" * 11 in part)
    assert "nowrap" not in head


@pytest.mark.parametrize(
    ("columns", "gap", "room"), [(6, "1.1em", "9em"), (7, "0.7em", "9em"), (8, "0.7em", "7em")]
)
def test_wide_tables_stand_closer(columns, gap, room):
    long = ["z" * 40, *["w" * 12] * (columns - 2), "w" * 12]
    cells = table("T", ["h"] * columns, [long]).html.split("<td")[1:]
    assert f"padding:0.15em {gap} 0.15em 0" in cells[0]
    assert "padding:0.15em 0 0.15em 0" in cells[-1]
    assert f"min-width:{room}" in cells[0]
    numbers = table("T", ["h"] * columns, [["1"] * columns]).html.split("<td")[1:]
    assert f"padding:0.15em {'1.1em' if columns < 7 else '0.9em'} 0.15em 0" in numbers[0]


@pytest.mark.parametrize(("long", "room"), [(2, True), (3, False)])
def test_two_columns_at_most_are_given_room(long, room):
    row = ["z" * 40] * long + ["a"]
    assert ("min-width" in table("T", ["h"] * len(row), [row]).html) == room


def test_a_total_stands_bold_below():
    from aquacalc.buildsheet.table import Table

    made = Grid(Table("k", "T", "Intro.", ("a", "b"), (("x", "1"),), total=("sum", "1")))
    assert made.html.count("<b>") == 2
    assert made.html.startswith("<p>Intro.</p>")
    assert made.text.splitlines()[-1] == "sum  1"


@pytest.mark.parametrize(
    ("good", "found"),
    [([], []), ([True], [(0, 0)]), ([False, True, True, False, True], [(1, 2), (4, 4)]),
     ([True, True], [(0, 1)]),
     ([False], [])],
)  # fmt: skip
def test_unbroken_stretches(good, found):
    assert _stretches(good) == found


def test_ranges_without_anything_against_them_stand_by_height():
    import pandas as pd

    rows = [  # out of order: 10 and 20 are good, 30 is not, 40 is
        (0.4, 30, "x", 3.0), (0.4, 20, "", 2.5), (0.4, 10, "", 1.5), (0.4, 40, "", 4.0), (0.3, 10, "x", 1.0),
    ]  # fmt: skip
    frame = pd.DataFrame([
        {"siphon.standpipe.height": h, "pump.flow": q / 60e3, "worst": w, "siphon.floods_per_hour": f}
        for h, q, w, f in rows
    ])  # fmt: skip
    made = unspoken(frame).table.rows
    assert [(row[0], row[1].split()[0], row[2].split()[0], row[3]) for row in made] == [
        ("400 mm", "10.0", "20.0", "1.5 to 2.5"), ("400 mm", "40.0", "40.0", "4.0 to 4.0"),
    ]  # fmt: skip
    assert unspoken(frame[frame["worst"] == "x"]).table.rows == (("none of those tried", "", "", ""),)


def test_ways_say_floods_and_what_is_against_them():
    flow = demo().pump.flow
    (row,) = alternatives.ways(demo(), [("1 in", flow)]).table.rows
    assert row[2] == f"{3600.0 / ran().groups[0].period:.1f}"
    (row,) = alternatives.ways(demo(), [("1 in", 1.0 / 60e3)]).table.rows
    assert row[2] == "spills"


def test_a_bed_that_is_raised_floods_less_deep():
    rows = alternatives.flood_depths(demo()).table.rows
    for bed in demo().beds:
        high = ran().node(bed.name).high
        (row,) = (r for r in rows if r[:2] == ("all at one height", bed.name))
        for text, value in ((row[2], high - bed.floor), (row[3], bed.rim - high)):
            assert float(text.split()[0]) == pytest.approx(1e3 * value, rel=5e-3)
    second = demo().beds[1].name
    flat, raised = (
        next(r for r in rows if r[:2] == (name, second)) for name in ("all at one height", f"{second} raised")
    )
    assert float(flat[2].split()[0]) - float(raised[2].split()[0]) == pytest.approx(60.0, abs=3.0)


def test_plans_around_a_plan_are_a_grid_of_flows_and_heights(monkeypatch):
    seen = []
    monkeypatch.setattr(alternatives, "sweep", lambda plan, values, findings: seen.append((values, findings)))
    alternatives.plans_around(demo())
    ((values, findings),) = seen
    flows, heights = values["pump.flow"], values["siphon.standpipe.height"]
    assert findings is True
    assert (len(flows), len(heights)) == (27, 18)
    flow, tall = demo().pump.flow, demo().siphons[0].standpipe.height
    assert (flows[0], flows[-1]) == pytest.approx((0.3 * flow, 2.2 * flow))
    assert (heights[0], heights[-1]) == pytest.approx((0.7 * tall, 1.08 * tall))
    weak = edit.put(demo(), {"pump.flow": 2.0 / 60e3})
    alternatives.plans_around(weak)
    assert seen[1][0]["pump.flow"][-1] == pytest.approx(2.2 * 8.0 / 60e3)


# Bends, losses and openings


def test_right_angles_are_made_another_way_and_keep_their_number():
    pipe = demo().siphons[0].tail.pipe
    before = (Fitting("bend 90, short", 3, 0.4), Fitting("exit", 1, 1.0), Fitting("two 45s", 2, 0.3))
    after = drain_panels.other_bends(before, pipe, "bend 90, swept")
    assert [(f.name, f.count) for f in after] == [("bend 90, swept", 3), ("exit", 1), ("bend 90, swept", 2)]
    assert after[0].k == catalogue.fitting("bend 90, swept").k
    assert after[0].spacing == 0.0
    twice = drain_panels.other_bends(before, pipe, "two 45s")
    assert twice[0].spacing == pytest.approx(2.2 * pipe.bore)
    assert twice[1] is before[1]


def test_a_right_angle_is_compared_with_the_mitre():
    rows = drain_panels.right_angles().table.rows
    (mitre,) = (float(r[2]) for r in rows if r[0] == "one 90° mitre")
    assert rows[0][3] == "100"
    named = {r[0]: float(r[2]) for r in rows}
    for name, of, count in (("two screwed 45s", "bend 45", 2), ("two swept 45s", "bend 45, swept", 2),
                            ("one screwed 90", "bend 90, screwed", 1), ("one swept 90", "bend 90, swept", 1),
                            ("one short moulded 90", "bend 90, short", 1)):  # fmt: skip
        assert named[name] == pytest.approx(count * catalogue.fitting(of).k, abs=0.005), name
    for row in rows:
        assert float(row[3]) == pytest.approx(100.0 * float(row[2]) / mitre, abs=2.0), row


def test_the_siphon_by_its_bends_alone_has_its_own_flow_with_no_wall():
    """With f = 0 the head of the run goes into the local losses alone: Q = A sqrt(2 g H / K)."""
    panel = drain_panels.bends_alone(demo())
    siphon, flow = demo().siphons[0], ran().groups[0].flow_high
    losses = siphon_losses(demo(), siphon, flow)
    whole, wall = sum(x.head for x in losses), sum(x.head for x in losses if x.kind == "wall")
    area = math.pi / 4 * siphon.standpipe.pipe.bore**2
    assert 0.0 < wall < whole
    assert panel.values["H"] == pytest.approx(whole)
    assert panel.values["f"] == 0.0
    assert panel.result.value == pytest.approx(flow * math.sqrt(whole / (whole - wall)), rel=1e-6)
    assert panel.values["L"] == pytest.approx(siphon.standpipe.height + siphon.tail.length)
    assert panel.values["A"] == pytest.approx(area)
    speed = drain_panels.eddies_panel(demo()).values["v"]
    assert speed == pytest.approx(flow / area)
    reynolds = drain_panels.wall_panel(demo())
    assert reynolds.values["Re"] == pytest.approx(speed * siphon.standpipe.pipe.bore / 1.0035e-6, rel=2e-3)
    assert reynolds.values["e"] == pytest.approx(siphon.standpipe.pipe.roughness / siphon.standpipe.pipe.bore)


def test_the_line_that_is_drawn_is_that_of_the_first_bed_with_one():
    assert drain_panels.drained(demo()) == demo().beds[0].name
    less = replace(demo(), runs=demo().runs[1:])
    assert drain_panels.drained(less) == less.runs[0].start
    assert drain_panels.drained(replace(demo(), runs=())) == demo().beds[0].name


def state(plan=None, run=None, ends=(), flow_high=30.0 / 60e3):
    return pictures.State(plan or demo(), run or ran(), 0.0, "metric", ends, flow_high)


def test_pictures_keep_axes_with_room_for_what_sliders_reach():
    found, _ = drain_panels.line_losses(demo(), ran(), demo().beds[0].name)
    axis = drain_panels.LineHead.fix(state())
    assert axis == {"rows": len(found), "high": pytest.approx(2.0 * sum(x.head for x in found))}
    losses = siphon_losses(demo(), demo().siphons[0], ran().groups[0].flow_high)
    assert drain_panels.SiphonHead.fix(state())["high"] == pytest.approx(1.05 * sum(x.head for x in losses))
    window = pictures.inflow_window(demo(), demo().siphons[0], ran())
    for high in (1.0, 3.0 * window.start_high, 1e-6, 0.3 * window.stop):
        top = max(high, window.start_high, min(window.stop, 2.0 * high))
        assert pictures.InflowWindow.fix(state(flow_high=high))["high"] == pytest.approx(1.1 * top), high
    tall = edit.put(demo(), {"bed.*.floor": 2.0})
    limits = pictures.Levels.fix(state(ends=(tall,)))["limits"]
    vessels = [*demo().beds, *demo().chambers]
    assert limits["beds"] == pytest.approx(
        (min(v.floor for v in vessels) - 0.02, max(b.rim for b in tall.beds) + 0.02)
    )
    assert limits["sump"] == pytest.approx((demo().sump.floor, demo().sump.rim + 0.05))


@pytest.mark.parametrize(
    ("period", "span"), [(200.0, 300.0), (290.0, 300.0), (295.0, 600.0), (700.0, 1200.0)]
)
def test_the_time_axis_doubles_until_a_cycle_fits_and_does_not_shrink(monkeypatch, period, span):
    seen = []
    monkeypatch.setattr(pictures, "levels", lambda run, t, system, limits: seen.append(dict(limits)))
    group = replace(ran().groups[0], period=period, began=50.0)
    limits = {"beds": (0, 1), "sump": (0, 1)}
    pictures.Levels.draw(state(run=replace(ran(), groups=(group,))), limits)
    assert limits["time"] == (0.0, span)
    limits["time"] = (0.0, 4800.0)
    pictures.Levels.draw(state(run=replace(ran(), groups=(group,))), limits)
    assert seen[-1]["time"] == (0.0, 4800.0)


def test_sliders_of_openings_hold_the_strainers_own():
    for width, wide in ((0.0005, (0.0005, 0.008)), (0.003, (0.001, 0.008)), (0.02, (0.001, 0.02))):
        strainer = replace(demo().beds[0].strainer, kind="slots", width=width, length=0.1, count=80)
        plan = replace(demo(), beds=(replace(demo().beds[0], strainer=strainer), *demo().beds[1:]))
        panel = strainer_panels.openings_panel(plan)
        assert panel.knobs["w"].ends == pytest.approx(wide)
        assert panel.knobs["l"].ends == pytest.approx((0.005, 0.1))
        assert panel.knobs["n"].ends == (1, 80.0)
        assert panel.result.value == pytest.approx(80 * width * 0.1)
    short = replace(demo().beds[0].strainer, kind="slots", length=0.002, count=8)
    panel = strainer_panels.openings_panel(replace(demo(), beds=(replace(demo().beds[0], strainer=short),)))
    assert panel.knobs["l"].ends == pytest.approx((0.002, 0.06))
    assert panel.knobs["n"].ends == (1, 60.0)
    holes = replace(short, kind="holes", width=0.02)
    panel = strainer_panels.openings_panel(replace(demo(), beds=(replace(demo().beds[0], strainer=holes),)))
    assert panel.knobs["d"].ends == pytest.approx((0.001, 0.02))
    assert panel.result.value == pytest.approx(8 * math.pi / 4 * 0.02**2)
    small = replace(holes, width=0.0005)
    panel = strainer_panels.openings_panel(replace(demo(), beds=(replace(demo().beds[0], strainer=small),)))
    assert panel.knobs["d"].ends == pytest.approx((0.0005, 0.015))


def test_a_share_of_the_openings_is_whole_and_one_at_least():
    count = demo().beds[0].strainer.count
    for share in (1.0, 0.5, 0.1, 0.001):
        for bed in strainer_panels.with_openings(demo(), share).beds:
            assert bed.strainer.count == max(1, round(share * count)), share


def test_the_first_strainer_on_a_line_is_the_one_shown():
    bare = replace(demo().beds[0], strainer=None)
    assert strainer_panels.strained(replace(demo(), beds=(bare, *demo().beds[1:]))) == demo().beds[1]
    loose = replace(demo(), runs=demo().runs[1:])
    assert strainer_panels.strained(loose).name in {run.start for run in loose.runs}
    with pytest.raises(ValueError, match="has a strainer"):
        strainer_panels.strained(replace(demo(), runs=()))


def test_a_strainers_head_is_that_of_an_orifice():
    """h = (Q / (C A))^2 / 2g, with the area of the slots by hand."""
    bed = strainer_panels.strained(demo())
    head, flow = strainer_panels.strainer_head(demo(), ran())
    s = bed.strainer
    area = s.count * (s.width * s.length if s.kind == "slots" else math.pi / 4 * s.width**2)
    assert head == pytest.approx((flow / (s.discharge_coefficient * area)) ** 2 / (2.0 * GRAVITY), rel=1e-9)
    panel = strainer_panels.head_panel(demo())
    assert panel.result.value == pytest.approx(head, rel=1e-9)
    rows = strainer_panels.open_areas().table.rows
    for row in rows:  # K = (A_p / (C_d A_o))^2
        assert float(row[1]) == pytest.approx((1.0 / (0.6 * float(row[0].split()[0]))) ** 2, rel=0.05), row


# Plans changed by sliders


def test_a_standpipe_keeps_its_bells_clearance_and_a_bore_its_lip():
    siphon = demo().siphons[0]
    made = tuning.with_standpipe(demo(), 0.35).siphons[0]
    assert made.standpipe.height == 0.35
    assert made.bell.top_height - 0.35 == pytest.approx(siphon.bell.top_height - siphon.standpipe.height)
    plain = tuning.with_lip(demo(), 0.0)
    assert plain.siphons[0].standpipe.lip_diameter == siphon.standpipe.pipe.bore
    wide = tuning.with_bore(plain, "1-1/4 in").siphons[0]
    assert wide.standpipe.lip_diameter == wide.standpipe.pipe.bore
    assert wide.tail.pipe == wide.standpipe.pipe
    lipped = tuning.with_lip(demo(), 1.01 * siphon.standpipe.pipe.bore)
    assert tuning.with_bore(lipped, "3/4 in").siphons[0].standpipe.lip_diameter == pytest.approx(
        1.01 * siphon.standpipe.pipe.bore
    )
    wider = tuning.with_bore(lipped, "1-1/2 in").siphons[0].standpipe
    assert wider.lip_diameter == wider.pipe.bore
    other = edit.put(demo(), {"siphon.*.tail.size": "1-1/2 in"})
    assert tuning.with_bore(other, "3/4 in").siphons[0].tail.pipe == other.siphons[0].tail.pipe


def test_a_drop_under_a_bed_is_cut_as_long_as_a_wider_pipe_needs_it():
    plan = edit.put(demo(), {f"run.{run.start}.length": 0.05 for run in demo().runs})
    made = tuning.with_drain(plan, "2 in")
    for run in made.runs:
        bed = next((b for b in plan.beds if b.name == run.start), None)
        if bed is not None and bed.outlet == "floor":
            drop = bed.outlet_invert - run.outfall - 0.5 * run.pipe.bore
            assert run.length == pytest.approx(max(drop, 0.05)), run.start
    long = edit.put(demo(), {f"run.{run.start}.length": 5.0 for run in demo().runs})
    assert {run.length for run in tuning.with_drain(long, "2 in").runs} == {5.0}
    assert tuning.less_flow(demo(), 0.75).pump.flow == pytest.approx(0.75 * demo().pump.flow)


def test_ends_of_the_sliders():
    siphon = demo().siphons[0]
    panel = tuning.SumpPanel(demo())
    tall, across, water = panel.moves
    crown = siphon.bell.top_height - siphon.standpipe.height
    low = max(2.5 * siphon.bell.rim_height, 0.4 * siphon.standpipe.height)
    assert (tall.low, tall.high) == pytest.approx((low, demo().vessel(siphon.host).shape.depth - crown))
    shape = demo().sump.shape
    size = getattr(shape, shape.sides[:2][-1])
    assert (across.low, across.high) == pytest.approx((0.5 * size, 1.5 * size))
    assert (water.low, water.high) == pytest.approx((demo().pump.intake + 0.02, shape.depth))
    pipe = siphon.standpipe.pipe
    widest = siphon.bell.bore - (pipe.outside_diameter - pipe.bore)
    sizes, lip, flow = tuning.LipPanel(demo()).moves
    assert lip.high == pytest.approx(widest - 0.002)
    assert (flow.low, flow.high) == pytest.approx((2.0 / 60e3, 40.0 / 60e3))
    bores = [p.bore for p in catalogue.sizes(pipe.series) if p.size in sizes.sizes]
    assert min(bores) >= 0.015
    assert max(bores) <= max(0.5 * widest, pipe.bore)
    assert tuning.pipe_sizes(pipe.series, pipe.bore, pipe.bore) == (pipe.size,)


def test_panels_of_equations_begin_at_the_plans_own_numbers():
    bed, group = demo().beds[0], ran().groups[0]
    panel = tuning.flood_panel(demo())
    area = bed.shape.length * bed.shape.width
    assert panel.values == pytest.approx(
        {"A": area, "h": 0.9 * bed.media.depth, "phi": bed.media.porosity, "h_m": bed.media.depth}
    )
    flood = group.volume_high - group.volume_low
    mean = group.drained / group.drain_time
    panel = tuning.cycle_panel(demo())
    assert panel.values == pytest.approx({"V": flood, "Q_i": group.inflow, "Q_s": mean})
    assert panel.knobs["Q_i"].ends == pytest.approx((0.2 * mean, 0.95 * mean))
    assert panel.knobs["V"].ends == pytest.approx((0.2 * flood, 2.5 * flood))


# Words


def finding(state, title="Title"):
    return SimpleNamespace(state=state, title=title, subject="bed <1>", cause="So.", change="Do.")


def test_a_panel_says_what_each_siphon_does_and_the_three_worst():
    group = replace(ran().groups[0], name="siphon a", period=600.0, fill_time=400.0, drain_time=150.0)
    run = SimpleNamespace(groups=(group,))
    text, more = plan_panel.told(demo(), run, [finding("good")])
    assert text == (
        "Siphon a floods and drains: a cycle takes 10 min 0 s, 6.0 floods an hour; of it filling 6 min 40 s, "
        "draining 2 min 30 s. Nothing speaks against it."
    )
    assert more == ""
    for outcome, says in (("spills", "spills without starting: the beds stay full."),
                          ("runs on", "runs on without stopping: the beds stay empty.")):  # fmt: skip
        run = SimpleNamespace(groups=(replace(group, outcome=outcome),))
        assert plan_panel.told(demo(), run, [])[0] == f"Siphon a {says} Nothing speaks against it."
    run = SimpleNamespace(groups=(replace(group, outcome="unsettled"),))
    bad = [finding("does not", "One"), finding("good"), finding("watch", "Two"), finding("watch", "Three"),
           finding("watch", "Four")]  # fmt: skip
    text, more = plan_panel.told(demo(), run, bad)
    assert text == (
        "Siphon a: unsettled. Does not work: one (bed <1>); watch: two (bed <1>); watch: three (bed <1>)."
    )
    assert more.count("<li>") == 4
    assert "<li><b>One</b> (bed &lt;1&gt;). So. Do.</li>" in more


def test_a_plan_is_saved_over_nothing_unless_ticked():
    row = SaveRow(demo, lambda text: None, "Save it")
    assert (row.replace.value, row.replace.indent) == (False, False)


def test_a_note_stays_while_sliders_move():
    """Where the solver is there, nothing waits for it: what was said of a saved plan is not taken away."""
    panel = tuning.SumpPanel(demo())
    panel._waiting = False
    panel._say_note("Saved.")
    panel.set(standpipe=0.410)
    assert "Saved." in panel.note.value


@pytest.mark.parametrize(
    ("ratio", "said"),
    [(1.1, "+10 %"), (0.9, "-10 %"), (1.004, "–"), (0.996, "–"), (1.006, "+1 %"), (math.nan, "?"),
     (math.inf, "?")],
)  # fmt: skip
def test_a_change_of_less_than_half_a_percent_is_a_dash(ratio, said):
    assert readings_form._percent(ratio) == said


def test_a_question_mark_is_explained_where_there_is_one():
    assert readings_form._unknown([["a", "?"], ["b", "1"]])
    assert readings_form._unknown([["a", "1"]]) == ()


# Ends of the sliders of equations, and readings


def test_sliders_of_equations_begin_at_the_plans_own_and_reach_round_it():
    from aquacalc.notebook.sheet_parts import load_panel
    from aquacalc.notebook.sump_tables import swing_panel

    _, flow = strainer_panels.strainer_head(demo(), ran())
    bed = strainer_panels.strained(demo())
    area = strainer_panels.strainer_area(demo(), bed.name)
    group = ran().groups[0]
    flood, across = group.volume_high - group.volume_low, demo().sump.shape.across(0.0)[0]
    mean, nu = group.drained / group.drain_time, 1.0035e-6
    bore = demo().siphons[0].standpipe.pipe.bore
    speed = group.flow_high / (math.pi / 4 * bore**2)
    deep, floor = bed.media.depth, bed.shape.length * bed.shape.width
    made = (
        (strainer_panels.head_panel, "Q", 0.2 * flow, flow, 3.0 * flow),
        (strainer_panels.head_panel, "A_o", 0.1 * area, area, 2.0 * area),
        (strainer_panels.head_panel, "C_d", 0.4, bed.strainer.discharge_coefficient, 0.82),
        (swing_panel, "D", 0.5 * across, across, 1.6 * across),
        (swing_panel, "V", 0.3 * flood, flood, 2.5 * flood),
        (tuning.cycle_panel, "Q_s", mean, mean, 2.0 * mean),
        (tuning.flood_panel, "A", 0.3 * floor, floor, 2.5 * floor),
        (tuning.flood_panel, "h", 0.2 * deep, 0.9 * deep, 1.2 * deep),
        (tuning.flood_panel, "phi", 0.2, bed.media.porosity, 0.7),
        (drain_panels.eddies_panel, "v", 0.05, speed, 3.0),
        (drain_panels.eddies_panel, "D", 0.015, bore, 0.080),
        (drain_panels.wall_panel, "Re", 1e3, speed * bore / nu, 1e5),
        (drain_panels.bends_alone, "f", 0.0, 0.0, 0.05),
        (load_panel, "h_m", 0.1, deep, 0.4), (load_panel, "h", 0.0, 0.24, 0.4),
    )  # fmt: skip
    panels = {make: make(demo()) for make, *_ in made}
    for make, key, low, start, high in made:
        one = panels[make].knobs[key]
        assert one.ends == pytest.approx((low, high), rel=2e-3), (make, key)
        assert one.si == pytest.approx(start, rel=2e-3), (make, key)


def test_a_flood_that_does_not_drain_is_taken_at_twice_the_inflow(monkeypatch):
    stuck = replace(ran().groups[0], drain_time=0.0)
    monkeypatch.setattr(tuning, "run_plan", lambda plan: replace(ran(), groups=(stuck,)))
    panel = tuning.cycle_panel(demo())
    assert panel.values["Q_s"] == pytest.approx(2.0 * stuck.inflow)


def test_invented_readings_are_as_fine_as_they_are_read_and_only_those_there_are(monkeypatch):
    """A fill time of 612.3 s read to 10 s: 610, in steps of 5; what cannot be read or is 0 is left out."""
    from aquacalc.notebook import saved_readings as saved

    given = {"fill time": 612.3, "drain time": 0.0, "jug flow": math.nan, "level at break": 0.0107,
             "sump rise": 0.0012, "lowest start": 3.3 / 60e3}  # fmt: skip
    monkeypatch.setattr(saved, "predict", lambda plan, run, siphon, reading: given[reading.what])
    found = {one.what: one for one in saved.invented(demo())}
    assert {what: one.value for what, one in found.items()} == {
        "fill time": pytest.approx(610.0), "level at break": pytest.approx(0.0105),
        "lowest start": pytest.approx(3.25 / 60e3),
    }  # fmt: skip
    assert found["fill time"].error == 10.0
    assert {one.what: one.bed for one in found.values() if one.bed} == {"level at break": demo().beds[0].name}


def test_readings_answer_to_a_tenth_more(monkeypatch):
    """Of readings that go as the thing that is changed: +10 % each; of what is not there a question mark."""
    monkeypatch.setattr(readings_form, "adjusted", lambda plan, siphon, by: by)
    monkeypatch.setattr(readings_form, "run_plan", lambda plan: None)
    monkeypatch.setattr(readings_form, "the_siphon", lambda plan, name: None)

    def predict(tried, run, siphon, reading):
        return 0.0 if reading.what == "jug flow" else 1.1 if isinstance(tried, dict) else 1.0

    monkeypatch.setattr(readings_form, "predict", predict)
    monkeypatch.setattr(readings_form, "first_bed", lambda plan, name: "bed")
    made = readings_form.answers(demo())
    assert "10 % larger" in made.table.title
    for row in made.table.rows:
        assert set(row[1:]) == {"?" if row[0] == "jug flow" else "+10 %"}, row
    assert any("A question mark" in note for note in made.table.notes)


def test_readings_are_shown_with_their_errors_to_two_digits():
    one = readings_form.Reading("fill time", 612.34, 9.87, "")
    other = readings_form.Reading("level at break", 0.01234, 0.0031, "bed 1")
    assert readings_form.taken([one, other]).table.rows == (
        ("fill time", "10 min 12 s", "9.9 s"), ("level at break, bed 1", "12.3 mm", "3.1 mm"),
    )  # fmt: skip
    match = SimpleNamespace(reading=other, fitted=0.0156, pull=-1.04)
    assert readings_form.matches(SimpleNamespace(matches=[match])).table.rows == (
        ("level at break", "12.3 mm ± 3.1 mm", "15.6 mm", "-1.0"),
    )
    e = SimpleNamespace(name="porosity", kind="ratio", before=0.45, value=0.42, low=0.40, high=0.44,
                        before_low=0.35, before_high=0.55)  # fmt: skip
    made = readings_form.estimates(SimpleNamespace(estimates=[e], level=0.9)).table
    assert [c.replace("\u00a0", " ") for c in made.rows[0][1:]] == [
        "0.450", "0.350 to 0.550", "0.420", "0.400 to 0.440",
    ]  # fmt: skip
    assert made.notes == ("90 of 100 such ranges hold the truth.",)


def test_bench_tables_are_those_of_the_bench():
    from aquacalc.notebook import bench_tables

    test = bench_tables.bench(demo())
    rows = bench_tables.first_trials(demo()).table.rows
    for row, part in zip(rows, (0.4, 0.6, 0.75, 1.0, 1.4, 1.9), strict=True):
        assert float(row[0].split()[0]) == pytest.approx(60e3 * part * test.next.flow, rel=5e-3)
        assert row[1] == f"{100 * test.start.chance(part * test.next.flow):.0f} of 100"
    assert rows[0][1] < rows[-1][1]
    rows = bench_tables.afternoon(demo()).table.rows
    assert [row[0] for row in rows] == ["0", "1", "2", "3", "4"]
    assert [row[1] for row in rows] == ["", *(jug for jug, _ in bench_tables.AFTERNOON)]
    wide = [float(row[3].split(" to ")[1].split()[0]) - float(row[3].split()[0]) for row in rows]
    assert wide == sorted(wide, reverse=True)
