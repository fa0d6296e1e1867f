"""Findings on the siphon, each just inside and just outside its limit, with the value worked by hand."""

import itertools
import math
from dataclasses import replace

import pytest

from aquacalc.equations.formulas import GRAVITY, vapour_pressure, water_density
from aquacalc.findings import siphons
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import crest, crests, inflow_window, pump_flow, sump_range
from tests.findings_base import HAIR, demo, found, run_of, states, with_group, with_plan

pytestmark = pytest.mark.identity
G = 9.80665
L_MIN = 60000.0


def window(run):
    return inflow_window(run.plan, run.plan.siphons[0], run)


# L/min at Fr 0.3, 0.5 and 1.0 by bore (mm): arithmetic from Fr = 4Q/(pi D² sqrt(g D)) with g = 9.81,
# Fr < 0.3 by Hills 1983 (read second-hand), about 1 by Simpson 1968 (from memory); printed to 3 digits.
PRINTED = {
    15.8: (1.39, 2.32, 4.63),
    20.9: (2.80, 4.66, 9.32),
    26.6: (5.11, 8.52, 17.03),
    35.1: (10.22, 17.03, 34.07),
    40.9: (14.98, 24.97, 49.93),
    52.5: (27.96, 46.61, 93.21),
}


@pytest.mark.identity
@pytest.mark.parametrize("bore", PRINTED)
def test_start_band_by_bore(bore):
    run = demo()
    siphon = run.plan.siphons[0]
    pipe = replace(siphon.standpipe.pipe, bore=bore / 1000)
    stand, tail = replace(siphon.standpipe, pipe=pipe), replace(siphon.tail, pipe=pipe)
    siphon = replace(siphon, standpipe=stand, tail=tail, priming=replace(siphon.priming, froude=0.5))
    w = inflow_window(run.plan, siphon, run)
    low, middle, high = (x * L_MIN for x in (w.start_low, w.start, w.start_high))
    assert (low, middle, high) == pytest.approx(PRINTED[bore], rel=0.005)


@pytest.mark.outside
def test_a_published_working_design_is_uncertain_and_not_refused_outright():
    """FAO Fisheries and Aquaculture Technical Paper 589 (from memory): 500 L/h on a 25 mm standpipe.

    In a bore of 21.2 mm that is Froude 0.86: inside the band.
    """
    run = with_plan(demo(), {"siphon.standpipe.bore": 0.0212})
    run = with_group(run, inflow=500 / 3600 / 1000)
    finding = found(run, "start")
    assert finding.state == "may or may not"
    assert "Froude number is 0.86" in finding.cause


def test_start_is_sure_from_the_top_of_the_band_and_uncertain_inside_it():
    D = demo().plan.siphons[0].standpipe.pipe.bore
    low, high = (fr * math.pi * D**2 / 4 * math.sqrt(G * D) for fr in (0.3, 1.0))
    runs = [with_group(demo(), inflow=q) for q in (high * (1 + HAIR), high * (1 - HAIR), low * (1 + HAIR))]
    assert states("start", *runs) == ["good", "may or may not", "may or may not"]
    finding = found(runs[1], "start")
    assert finding.limit == pytest.approx(high, rel=1e-12)
    assert finding.band == pytest.approx((low, high), rel=1e-12)
    assert finding.title == "Start is uncertain"


def test_below_the_band_it_spills():
    D = run_of("spills-without-starting").plan.siphons[0].standpipe.pipe.bore
    finding = found(run_of("spills-without-starting"), "spills")
    assert finding.value == pytest.approx(18 / L_MIN, rel=1e-3)  # it is still settling by this much
    assert finding.limit == pytest.approx(math.pi * D**2 / 4 * math.sqrt(G * D), rel=1e-12)
    assert found(run_of("spills-without-starting"), "start") is None
    # The bore it proposes is the one that today's flow very likely fills.
    bore = (4 * finding.value / (math.pi * math.sqrt(G))) ** 0.4
    assert f"{bore * 1000:.1f} mm" in finding.change


def test_spilling_inside_the_band_is_uncertain():
    """The run takes the middle of the band; inside the band nobody can say."""
    run = run_of("spills-without-starting")
    low = window(run).start_low
    runs = [with_group(run, inflow=low * x, flow_steady=low * x) for x in (1 - HAIR, 1 + HAIR, 1.2)]
    assert states("spills", *runs) == ["does not", None, None]
    assert states("start", *runs) == [None, "may or may not", "may or may not"]
    assert found(runs[2], "start").change.startswith("Find out before you cut")


def test_what_spills_is_what_reaches_the_lip():
    """A strainer of pin holes holds the bed's water back: 2 L/min reach the lip of the pump's 17."""
    plan = read_plan("tests/plans/pump-curve.toml")
    pin = {f"bed.{plan.beds[0].name}.strainer.width": 0.001}
    run = run_plan(edit.put(plan, pin), trace=False)
    finding = found(run, "spills")
    assert finding.value == run.groups[0].flow_steady
    assert finding.value < 0.2 * run.groups[0].inflow
    assert finding.margin < 0.0


def test_own_observation_shrinks_the_band():
    observed = {"siphon.priming.observed": 10 / L_MIN, "siphon.priming.observed_error": 1 / L_MIN}
    runs = [
        with_group(with_plan(demo(), observed), inflow=q / L_MIN) for q in (11 + 1e-6, 11 - 1e-6, 9 + 1e-6)
    ]
    assert states("start", *runs) == ["good", "may or may not", "may or may not"]
    assert found(runs[1], "start").band == pytest.approx((9 / L_MIN, 11 / L_MIN))
    assert "By your own readings" in found(runs[1], "start").cause
    exact = {"siphon.priming.observed": 10 / L_MIN, "siphon.priming.observed_error": 0.0}
    runs = [with_group(with_plan(demo(), exact), inflow=q / L_MIN) for q in (10 + 1e-6, 10 - 1e-6)]
    assert states("start", *runs) == ["good", None]
    assert states("spills", *runs) == [None, "does not"]


def colebrook(Re, e):
    """Fixed-point iteration, written apart from the library's Newton."""
    x = 8.0
    for _ in range(200):
        x = -2 * math.log10(e / 3.7 + 2.51 * x / Re)
    return x**-2


def test_stop_flow_loses_just_the_head_at_the_rim():
    """Every loss of the demo siphon summed by hand at the flow of the window."""
    run = demo()
    plan, siphon = run.plan, run.plan.siphons[0]
    Q = window(run).stop
    nu = 1.0034e-6  # water at 20 degC, IAPWS
    stand, bell, tail = siphon.standpipe, siphon.bell, siphon.tail
    D, eps = stand.pipe.bore, stand.pipe.roughness
    v = Q / (math.pi * D**2 / 4)
    friction = colebrook(v * D / nu, eps / D) * (stand.height + tail.length) / D
    cone = 2 * math.degrees(math.atan((stand.lip_diameter - D) / (2 * stand.cone_length)))
    assert cone < 45
    step = 1 - (D / stand.lip_diameter) ** 2
    entry = 0.5 * (D / stand.lip_diameter) ** 4 + 0.8 * math.sin(math.radians(cone / 2)) * step
    bends = sum(f.count * f.k for f in tail.fittings)
    gap = math.pi * (bell.bore**2 - stand.lip_diameter**2) / 4
    D_h = bell.bore - stand.lip_diameter
    u = Q / gap
    annulus = (colebrook(u * D_h / nu, eps / D_h) * (stand.height - bell.rim_height) / D_h + 1.0) * u**2
    w = Q / (4 * 0.040 * 0.030)
    lost = ((friction + entry + bends) * v**2 + annulus + (w / 0.6) ** 2) / (2 * G)
    assert lost == pytest.approx(0.530 - 0.320, rel=2e-4)  # annulus is laminar-turbulent at the margin
    assert window(run).head_at_rim == pytest.approx(0.210)
    assert plan.limits.stop_margin == 0.1
    # A strong jump carries off 0.0066 (10 - 1)^1.4 of the flow as air: more than the plan's margin.
    assert window(run).stop_with_margin == pytest.approx((1 - 0.0066 * 9**1.4) * Q)


def test_stop_has_margin_or_little_or_none():
    limit = (1 - 0.0066 * 9**1.4) * window(demo()).stop
    runs = [with_group(demo(), inflow=q) for q in (limit * (1 - HAIR), limit * (1 + HAIR))]
    assert states("stop", *runs) == ["good", "may or may not"]
    finding = found(runs[1], "stop")
    assert finding.limit == pytest.approx(limit)
    assert finding.band == pytest.approx((limit, window(demo()).stop))
    assert finding.cause.startswith("With the water down at the bell rim the siphon carries ")
    below = with_group(demo(), outcome="runs on", inflow=0.9 * limit)  # the run says more than the law
    assert found(below, "stop").band == pytest.approx((0.9 * limit, window(demo()).stop))
    run = run_of("runs-on-without-stopping")
    assert states("stop", run) == [None]
    finding = found(run, "runs_on")
    assert finding.state == "does not"
    assert finding.limit == pytest.approx(window(run).stop)
    assert finding.value > finding.limit


def test_a_spilling_siphon_would_run_on_from_its_stop_flow():
    run = run_of("spills-without-starting")
    stop = window(run).stop
    inside, outside = (with_group(run, inflow=stop * (1 + d)) for d in (-HAIR, HAIR))
    assert states("runs_on", inside, outside) == [None, "does not"]
    assert found(run, "stop").title == "Once started, it would stop"


def test_an_unsettled_group_runs_on_from_its_stop_flow():
    stop = window(demo()).stop
    runs = [with_group(demo(), outcome="unsettled", inflow=stop * (1 + d)) for d in (-HAIR, HAIR)]
    assert states("runs_on", *runs) == [None, "does not"]


def test_engine_breaks_at_the_stop_flow_of_the_window():
    run = demo()
    assert run.groups[0].flow_break == pytest.approx(window(run).stop, rel=1e-5)


@pytest.mark.parametrize(
    ("name", "title"), [("floods_low", "Too few floods"), ("floods_high", "Too many floods")]
)
def test_floods_against_what_is_asked_for(name, title):
    rate = 3600.0 / demo().groups[0].period
    side = 1 if name == "floods_low" else -1
    other = {"floods_low": rate / 2, "floods_high": rate * 2}
    inside, outside = (
        with_plan(demo(), {f"limits.{k}": v for k, v in (other | {name: rate * (1 + d)}).items()})
        for d in (-side * HAIR, side * HAIR)
    )
    assert states("floods", inside, outside) == ["good", "watch"]
    assert found(outside, "floods").title == title
    assert found(outside, "floods").value * 3600 == pytest.approx(rate)


def test_tail_is_drowned_when_the_sump_passes_its_end():
    high = sump_range(demo().plan, demo()).high
    free, drowned = (with_plan(demo(), {"siphon.tail.outlet": high + d}) for d in (1e-6, -1e-6))
    assert states("tail", free, drowned) == ["good", "watch"]
    # The sump spills over its rim (0.300 m) before it reaches a tail that ends above the rim.
    over = run_of("sump-overflows")
    assert sump_range(over.plan, over).high > 0.320 > over.plan.sump.rim
    assert states("tail", over) == ["good"]


def test_crest_pressure_by_hand():
    run = demo()
    siphon, c = run.plan.siphons[0], crests(run.plan, run.plan.siphons[0], sump_range(run.plan, run))[1]
    assert c.height == pytest.approx(0.400)  # lip 0.930, rim 0.530
    head = c.height + (1 + c.loss) * c.velocity**2 / (2 * G)
    assert c.pressure == pytest.approx(101325 - water_density(20.0) * G * head, rel=1e-12)
    still = crest(run.plan, siphon, 0.530, 0.0)
    assert still.pressure == pytest.approx(101325 - 998.2 * G * 0.4, rel=1e-6)


def test_crest_limit(monkeypatch):
    lowest = found(demo(), "crest").value
    boiling = vapour_pressure(20.0)
    for margin, verdict in ((lowest - boiling - 1e-3, "good"), (lowest - boiling + 1e-3, "watch")):
        monkeypatch.setattr(siphons, "CREST_MARGIN", margin)
        assert states("crest", demo()) == [verdict]


def test_a_siphon_of_eleven_metres_tears_apart():
    tall = {"siphon.standpipe.height": 11.0, "siphon.bell.top_height": 11.05}
    assert states("crest", with_plan(demo(), tall)) == ["does not"]
    assert states("crest", with_plan(demo(), {k: v - 4 for k, v in tall.items()})) == ["good"]


def test_ways_round_the_lip_as_wide_as_the_bore():
    siphon = demo().plan.siphons[0]
    bore = math.pi * siphon.standpipe.pipe.bore**2 / 4
    lip = siphon.standpipe.lip_diameter
    wall = siphon.standpipe.pipe.outside_diameter - siphon.standpipe.pipe.bore
    gap = math.hypot(siphon.standpipe.pipe.bore, lip + wall)  # the lip is wider than the pipe outside
    width = bore / (4 * 0.030)
    for key, path, limit, narrow in (
        ("bell_gap", "siphon.bell.bore", gap, "may or may not"),
        ("bell_openings", "siphon.bell.opening_width", width, "watch"),
    ):
        inside, outside = (with_plan(demo(), {path: limit * (1 + d)}) for d in (HAIR, -HAIR))
        assert states(key, inside, outside) == ["good", narrow], key
        assert found(outside, key).value == pytest.approx(1.0, abs=1e-5)
        assert "It throttles the siphon" in found(outside, key).cause
        assert found(outside, key).title.endswith("is narrower than the bore")
        assert found(outside, key).change
        assert "throttles" not in found(inside, key).cause
        assert found(inside, key).title.endswith("is wide enough")
        assert not found(inside, key).change


def test_roof_of_the_bell_leaves_room_for_the_water_that_starts_it():
    """The weir law by hand: at its start the demo's water is 8.0 mm deep over a lip of 40.9 mm."""
    siphon = demo().plan.siphons[0]
    head = (window(demo()).start / (1.71 * math.pi * siphon.standpipe.lip_diameter)) ** (2 / 3)
    top = siphon.standpipe.height + head
    runs = [with_plan(demo(), {"siphon.bell.top_height": top + d}) for d in (1e-6, -1e-6)]
    assert states("bell_clearance", *runs) == ["watch", "may or may not"]


def test_cycle_settled_or_not():
    assert found(demo(), "cycle").value == demo().groups[0].period
    assert states("unsettled", demo()) == [None]
    never = with_group(demo(), outcome="unsettled", cycles=0)
    often = with_group(demo(), outcome="unsettled", cycles=40, misfit=0.002)
    assert states("unsettled", never, often) == ["does not", "watch"]
    assert states("cycle", never, often) == [None, None]
    assert "2.00 mm" in found(often, "unsettled").cause


def test_pump_curve_gives_a_lowest_and_a_highest_inflow():
    plan = read_plan("tests/plans/pump-curve.toml")
    run = run_plan(plan, trace=False)
    w, levels = window(run), sump_range(plan, run)
    assert w.today_low < w.today < w.today_high
    assert w.today_low == pytest.approx(pump_flow(plan, levels.low))
    # One end of the duty point by hand: what the curve gives is what lift and pipe ask.
    q = w.today_high
    (q0, h0), (q1, h1) = next(p for p in itertools.pairwise(plan.pump.curve) if p[0][0] <= q <= p[1][0])
    given = h0 + (h1 - h0) * (q - q0) / (q1 - q0)
    d = plan.pump.delivery
    v = q / (math.pi * d.pipe.bore**2 / 4)
    f = colebrook(v * d.pipe.bore / 1.0034e-6, d.pipe.roughness / d.pipe.bore)
    k = sum(x.count * x.k for x in d.fittings)
    asked = d.outlet - levels.high + (f * d.length / d.pipe.bore + k) * v**2 / (2 * GRAVITY)
    assert given == pytest.approx(asked, rel=1e-4)


def test_no_head_no_flow():
    plan, siphon = demo().plan, demo().plan.siphons[0]
    assert siphon_flow(plan, siphon, 0.3, 0.0) == 0.0
    assert siphon_flow(plan, siphon, 0.9, 0.95) == 0.0
