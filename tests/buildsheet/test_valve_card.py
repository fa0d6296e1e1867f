"""The valve card: each line is tried on a plan that has what the line is for."""

from dataclasses import replace

import pytest

from aquacalc.buildsheet.valve_card import page, valve_card
from aquacalc.catalogue import data_dir
from aquacalc.design.corners import hard_start
from aquacalc.design.keeping import marks
from aquacalc.findings import find
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import run_plan

pytestmark = pytest.mark.identity
L = 1 / 60000
DEMO = read_plan(data_dir() / "plans" / "greenhouse.toml")
CARD = valve_card(DEMO)


def line(key, card=CARD):
    return next(line for line in card.lines if line.key == key)


def states(plan, *keys):
    return {finding.state for finding in find(run_plan(plan, trace=False)) if finding.key in keys}


@pytest.mark.parametrize(
    ("key", "flow", "findings"),
    [("trickles", 11.0, ("start", "spills")), ("runs on", 45.0, ("stop", "runs_on"))],
)
def test_the_valve_mends_what_its_line_is_for(key, flow, findings):
    """A siphon that is hard to start, with too little and with too much water."""
    ill = edit.put(DEMO, hard_start(DEMO) | {"pump.flow": flow * L})
    assert states(ill, *findings) == {"does not"}
    mended = edit.put(ill, line(key).values)
    assert states(mended, "start", "spills", "stop", "runs_on") == {"good"}
    assert run_plan(mended, trace=False).groups[0].outcome == "cycles"


def test_the_bed_that_lags_keeps_less_with_its_own_valve_turned_and_least_when_clean():
    ill = edit.put(DEMO, {"bed.bed 1.strainer.count": 2})
    turned = edit.put(ill, line("lags").values)
    clean, clogged, less = (run_plan(p, trace=False).node("bed 1").at_break for p in (DEMO, ill, turned))
    assert clean + 0.002 < less < clogged
    assert line("lags").steps[0].startswith("Clean")  # what helps most comes first


def test_filled_to_the_mark_the_pump_is_covered_again():
    ill = edit.put(DEMO, {"sump.water_level": 0.40})
    assert states(ill, "pump_cover") == {"does not"}
    mended = edit.put(ill, line("sump low").values)
    assert states(mended, "pump_cover", "sump_overflow") == {"good"}
    off = marks(DEMO, run_plan(mended, trace=False))[0]
    assert off.low <= run_plan(mended, trace=False).sump_drained - DEMO.sump.floor <= off.high


def test_no_setting_is_promised_where_there_is_none():
    """A wide bore on a short fall: what surely starts it is more than what surely stops."""
    values = {"siphon.siphon.tail.outlet": 0.50, "siphon.siphon.tail.length": 0.4}
    card = valve_card(edit.put(DEMO, values))
    for key in ("trickles", "runs on"):
        assert line(key, card).values == {}
        assert "No setting of the valve" in line(key, card).steps[0]


def test_in_us_units_the_same_settings_to_their_marks():
    card = valve_card(replace(DEMO, units="us"))
    for key in ("trickles", "runs on"):
        here, there = (line(key, c).values["pump.flow"] for c in (CARD, card))
        assert there == pytest.approx(here, rel=0.01)
        assert "gpm" in " ".join(line(key, card).steps)
    text = page(card)
    assert "L/min" not in text
    assert "<script" not in text
