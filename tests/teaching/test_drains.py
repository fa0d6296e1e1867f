"""Panels and tables of strainers and bends: same numbers as the engine, kept in the plan that is saved."""

import itertools
from pathlib import Path

import pytest

from aquacalc import catalogue
from aquacalc.catalogue import data_dir
from aquacalc.notebook import open_plan, use
from aquacalc.notebook.drain_panels import (
    SPACING,
    BendsPanel,
    bend_times,
    drained,
    line_bends,
    line_losses,
    outlets,
    right_angles,
    tail_bends,
)
from aquacalc.notebook.strainer_panels import (
    StrainerPanel,
    fewer_openings,
    openings_panel,
    strained,
    strainer_head,
    with_openings,
)
from aquacalc.plan import edit, read_plan
from aquacalc.results.cycle import run_plan

PLANS = Path(__file__).parents[1] / "plans"


@pytest.fixture(scope="module")
def plan():
    return read_plan(data_dir() / "plans" / "greenhouse.toml")


@pytest.mark.identity
def test_half_the_slots_take_four_times_the_head(plan):
    whole, flow = strainer_head(plan, run_plan(plan))
    half = with_openings(plan, 0.5)
    head, less = strainer_head(half, run_plan(half))
    assert head / whole == pytest.approx(4.0 * (less / flow) ** 2)
    assert head / whole == pytest.approx(4.0, rel=0.02)
    assert [b.strainer.count for b in half.beds] == [14, 14, 14]
    assert min(b.strainer.count for b in with_openings(plan, 1e-9).beds) == 1


@pytest.mark.identity
def test_head_of_the_demo_strainer():
    # Orifice law by hand: 21.0 L/min through 28 slots of 3 x 25 mm at 0.6: (3.49e-4 / (0.6 * 21e-4))² / 19.61
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    head, flow = strainer_head(plan, run_plan(plan))
    assert head == pytest.approx((flow / (0.6 * 28 * 0.003 * 0.025)) ** 2 / (2 * 9.80665))


@pytest.mark.identity
def test_the_strainer_panel_changes_the_plan_and_the_next_workbook_opens_it(plan, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = StrainerPanel(plan)
    panel.set(open=7.0)
    assert panel.plan.beds[0].strainer.count == 7
    assert "7 slots open" in panel.text
    panel.save("my-plan.toml")
    opened = open_plan()
    assert [b.strainer.count for b in opened.beds] == [7, 7, 7]
    assert StrainerPanel(opened).text == panel.text
    with pytest.raises(FileExistsError):
        panel.save("my-plan.toml")


@pytest.mark.identity
def test_the_bends_panel_says_what_the_engine_says(plan):
    panel = BendsPanel(plan)
    before = run_plan(plan).groups[0].drain_time
    panel.set(tail="bend 90, sharp")
    after = run_plan(tail_bends(plan, "bend 90, sharp")).groups[0].drain_time
    assert panel.run.groups[0].drain_time == after > 1.2 * before
    assert {f.name for f in panel.plan.siphons[0].tail.fittings} == {"bend 90, sharp", "exit"}
    panel.set(tail="as planned")
    assert panel.plan == plan
    panel.set(line="two 45s")
    assert panel.plan == line_bends(plan, "two 45s")


@pytest.mark.identity
def test_bends_keep_their_number_and_nothing_else_changes(plan):
    made = line_bends(tail_bends(plan, "two 45s"), "bend 90, swept")
    tail = made.siphons[0].tail
    assert sum(f.count for f in tail.fittings if f.name == "two 45s") == 2
    assert next(f for f in tail.fittings if f.name == "two 45s").spacing == SPACING * tail.pipe.bore
    for old, new in zip(plan.runs, made.runs, strict=True):
        assert sum(f.count for f in old.fittings) == sum(f.count for f in new.fittings)
        assert (old.pipe, old.length, old.outfall) == (new.pipe, new.length, new.outfall)


@pytest.mark.outside
def test_two_45s_against_a_mitre():
    # Hydraulic Institute, Engineering Data Book, read: K of two 45 mitres as below, of one 90 mitre 1.129.
    table = right_angles().table.rows
    found = [float(row[2]) for row in table if row[0] == "two 45° mitres"]
    assert found == pytest.approx([0.507, 0.333, 0.261, 0.289, 0.346, 0.399], abs=0.005)
    assert [row[3] for row in table if row[0] == "two 45° mitres"] == ["45", "29", "23", "26", "31", "35"]
    assert float(table[0][2]) == pytest.approx(1.129, abs=0.005)


@pytest.mark.identity
def test_losses_of_the_line_add_up_to_what_the_engine_has(plan):
    run = run_plan(plan)
    found, flow = line_losses(plan, run, drained(plan))
    from aquacalc.design.drains import drain_flows, level_differences

    flows = drain_flows(plan, run, plan.siphons[0])
    assert sum(x.head for x in found) == pytest.approx(level_differences(plan, flows)["bed 1"])
    assert flow == flows["tee 3"]


@pytest.mark.identity
def test_verdicts_of_the_workbook(plan):
    """What workbook 03 states in words."""
    times = {row[0]: row[1:] for row in bend_times(plan).table.rows}

    def seconds(text):
        minutes, _, rest = text.partition(" min ")
        return 60 * int(minutes) + int(rest.removesuffix(" s"))

    tail = {name: seconds(row[0]) for name, row in times.items()}
    line = {name: seconds(row[1]) for name, row in times.items()}
    assert tail["bend 90, sharp"] > 1.3 * tail["bend 90, short"]  # "a third slower"
    assert abs(tail["two 45s"] - tail["bend 90, swept"]) <= 2  # "nothing to choose"
    assert max(line.values()) - min(line.values()) <= 12  # "a few seconds"
    rows = {row[0]: row for row in outlets(plan).table.rows}
    kept = {name: float(row[3].split()[0]) for name, row in rows.items()}
    assert kept["side outlets"] > 1.5 * kept["as planned"]  # "far more water stays"


@pytest.mark.identity
def test_verdicts_of_the_strainer_workbook(plan):
    """What workbook 02 states in words."""
    rows = fewer_openings(plan, (1.0, 0.5)).table.rows
    assert [row[0] for row in rows] == ["28", "14"]
    whole, half = (run_plan(with_openings(plan, s)).groups[0].drain_time for s in (1.0, 0.5))
    assert 1.005 < half / whole < 1.02  # "about 1 % longer"


@pytest.mark.identity
@pytest.mark.parametrize(
    ("path", "system"),
    list(zip(sorted(PLANS.glob("*.toml")), itertools.cycle(("metric", "us")), strict=False)),
    ids=lambda p: getattr(p, "stem", p),
)
def test_every_layout_of_plan_has_its_panels(path, system):
    plan = read_plan(path)
    use(system)
    for panel in (BendsPanel(plan), StrainerPanel(plan), openings_panel(plan)):
        assert panel.text
        assert panel._repr_mimebundle_()
    assert strained(plan).strainer is not None


@pytest.mark.identity
def test_a_plan_without_strainers_says_so(plan):
    from dataclasses import replace

    bare = replace(plan, beds=tuple(replace(b, strainer=None) for b in plan.beds))
    with pytest.raises(ValueError, match="open the demo plan"):
        strained(bare)
    assert BendsPanel(bare).text


@pytest.mark.identity
def test_swept_fittings_are_those_of_the_tables():
    assert {row[0]: row[2] for row in right_angles().table.rows}[
        "one swept 90"
    ] == f"{catalogue.fitting('bend 90, swept').k:.2f}"


@pytest.mark.identity
def test_slots_are_whole_and_the_slider_says_which_bed_it_moves(plan):
    panel = StrainerPanel(plan)
    knob = panel.knobs["open"]
    assert knob.slider.step == 1.0
    assert "every bed" in knob.slider.description
    knob.slider.value -= 1
    assert [b.strainer.count for b in panel.plan.beds] == [27, 27, 27]
    first = plan.beds[0].name
    other = edit.put(plan, {f"bed.{first}.strainer.count": 20})
    alone = StrainerPanel(other)
    assert first in alone.knobs["open"].slider.description
    alone.set(open=10.0)
    assert [b.strainer.count for b in alone.plan.beds] == [10, 28, 28]
