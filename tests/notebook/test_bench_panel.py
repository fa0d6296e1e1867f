"""The bench test in a workbook: trials typed, kept beside the reader's plan, and taken up again."""

import pytest

from aquacalc.bench.trials import beside, read_trials
from aquacalc.catalogue import data_dir
from aquacalc.hydraulics.starting import start_band
from aquacalc.notebook.bench_panel import BenchPanel
from aquacalc.plan import edit, read_plan

pytestmark = pytest.mark.identity
DEMO = read_plan(data_dir() / "plans" / "greenhouse.toml")


@pytest.fixture
def mine(tmp_path):
    return tmp_path / "my-plan.toml"


def test_trials_until_it_is_enough(mine):
    panel = BenchPanel(DEMO, mine=mine)
    assert panel.text.startswith("Try 9.4 L/min")
    assert beside(mine) == []
    panel.add("2 L in 12.8 s", "did not within ten minutes")
    assert panel.text.startswith("Try ")
    panel.add("5 L in 21 s", "started, stopped")
    assert panel.text.startswith("Enough: cut.")
    assert len(read_trials(beside(mine)[0]).trials) == 2
    assert start_band(panel.plan.siphons[0]).measured


def test_opened_again_the_trials_count_for_the_same_parts_only(mine):
    BenchPanel(DEMO, mine=mine).add("14 L/min", "started, stopped")
    assert len(BenchPanel(DEMO, mine=mine).bench.trials) == 1
    wider = edit.put(DEMO, {"siphon.siphon.standpipe.lip_diameter": 0.045})
    assert BenchPanel(wider, mine=mine).bench.trials == ()


@pytest.mark.parametrize("reading", ["", "0 L in 3 s", "12", "900 L/min"])
def test_a_reading_that_is_none_is_said_and_not_kept(mine, reading):
    panel = BenchPanel(DEMO, mine=mine)
    panel.add(reading, "started")
    assert 'role="status"' in panel.reply.value
    assert beside(mine) == []
    panel.add("14 L/min", "started")
    assert panel.reply.value == ""


def test_buttons_do_the_same(mine):
    panel = BenchPanel(DEMO, mine=mine)
    panel.reading.value = "14 L/min"
    panel.children[2].children[0].click()
    (trial,) = panel.bench.trials
    assert (trial.started, trial.stopped) == (True, True)


def test_it_follows_the_units(mine):
    panel = BenchPanel(DEMO, mine=mine)
    panel.switch("us")
    assert "gpm" in panel.text
    assert "gal in" in panel.text
