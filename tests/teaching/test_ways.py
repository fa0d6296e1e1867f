"""Tables of the lessons say what the findings say, and the pages claim no more than their own tables."""

import numpy as np
import pandas as pd
import pytest

from aquacalc.figures.lips import EXPECTED, MAY, RUNS, TRICKLES, lips, three_pipes
from aquacalc.findings import find, verdict
from aquacalc.notebook import demo_plan, use
from aquacalc.notebook.alternatives import drain_lines, flood_depths, unspoken, ways
from aquacalc.notebook.lip_tables import fills, gains_and_costs, plain_ends, wide_lips
from aquacalc.notebook.sump_tables import smallest_sump, standpipe_by_sump, sump_levels
from aquacalc.notebook.tuning_panels import with_bore
from aquacalc.plan import edit
from aquacalc.results.cycle import run_plan


def seconds(text: str) -> float:
    minutes, _, rest = text.rpartition(" min ")
    return 60.0 * float(minutes or 0) + float(rest.removesuffix(" s"))


def first(text: str) -> float:
    return float(text.split()[0])


@pytest.mark.identity
def test_each_of_the_three_pipes_trickles_chokes_and_runs():
    siphon = demo_plan().siphons[0]
    did = {litres: [p.does for p in three_pipes(siphon, litres / 60e3)] for litres in (4, 8, 14, 25, 60)}
    assert did[4] == [TRICKLES] * 3
    assert did[8] == [MAY, MAY, TRICKLES]
    assert did[14] == [EXPECTED, EXPECTED, TRICKLES]
    assert did[25] == [RUNS, RUNS, MAY]
    assert did[60] == [RUNS] * 3


@pytest.mark.identity
def test_what_page_01_says_of_lip_and_bore():
    plan = demo_plan()
    plain, reduced, wide = gains_and_costs(plan).table.rows
    assert plain[1:3] == reduced[1:3]  # "do the first two part company?" They do not.
    assert first(plain[3]) > 1.3 * first(reduced[3])  # "by almost a half"
    assert first(wide[1]) > 2.5 * first(plain[1])
    assert first(wide[4]) > 2.0 * first(plain[4])  # "more than twice as much"
    # One truth: the table's words for each pipe are those of the panel above it.
    flow = run_plan(plan, trace=False).pump
    for row, pipe in zip((plain, reduced, wide), three_pipes(plan.siphons[0], flow), strict=True):
        assert row[-1].startswith(pipe.does)
        assert pipe.does in lips(plan.siphons[0], "metric", flow).alt
    assert wide[-1] == "chokes: may start; keeps more water than you allow: the plan does not work"
    assert reduced[-1] == f"runs full: the plan {verdict(find(run_plan(plan)))}"
    rows = wide_lips(plan).table.rows
    heads, gaps, times = ([f(row[k]) for row in rows] for f, k in ((first, 1), (first, 2), (seconds, 3)))
    assert heads == sorted(heads, reverse=True)
    assert heads[0] - heads[1] > 2.0 > 1.2 > heads[1] - heads[2] > heads[-2] - heads[-1]
    assert gaps == sorted(gaps, reverse=True)
    assert times[-1] > min(times) + 30.0
    heads = [first(row[2]) for row in plain_ends().table.rows]
    assert heads == sorted(heads, reverse=True)  # "the lower the better": the wide pipe looks best
    assert [row[-1] for row in fills().table.rows] == ["yes", "perhaps", "perhaps", "no"]


@pytest.mark.identity
def test_what_page_05_says_of_thin_lines():
    rows = {row[0]: row for row in drain_lines(demo_plan()).table.rows}
    right, less, thin, thinner = (rows[size] for size in ("1-1/2 in", "1-1/4 in", "1 in", "3/4 in"))
    assert 15.0 < seconds(less[2]) - seconds(right[2]) < 45.0  # "half a minute more slowly"
    assert first(less[4]) < first(right[4]) + 5.0
    assert seconds(thin[1]) < seconds(right[1])  # "even a little shorter"
    assert 80.0 < first(thin[4]) < 100.0
    assert seconds(thinner[1]) == pytest.approx(180.0, abs=30.0)
    rows = flood_depths(demo_plan()).table.rows
    assert [row[0] for row in rows if row[1] == "bed 2"] == ["all at one height", "bed 2 raised"]
    whole, raised = (first(row[2]) for row in rows if row[1] == "bed 2")
    assert whole - raised == pytest.approx(60.0, abs=1.0)  # "floods less deep by just as much"


@pytest.mark.identity
def test_page_06_gives_the_reason_why_two_answers_differ():
    plan = demo_plan()
    table = standpipe_by_sump(plan).table
    assert "610 mm deep" in table.notes[0]
    tall = {first(row[0]): first(row[1]) for row in table.rows}
    # At 720 mm across the table has less than the plan's own standpipe; the other answer takes 700 mm for it.
    assert tall[720.0] < 1e3 * plan.siphons[0].standpipe.height
    said = smallest_sump(plan).text
    assert "700 mm across" in said
    assert "as deep as in the plan" in said
    use("us")
    assert sump_levels(plan).table.rows[0][1].endswith(" in")


@pytest.mark.identity
def test_no_range_spans_a_plan_with_something_against_it():
    table = pd.DataFrame(
        {
            "pump.flow": np.array([10, 11, 12, 13, 14, 15]) / 60e3,
            "siphon.standpipe.height": 0.45,
            "siphon.floods_per_hour": [3.0, 3.1, 3.2, 3.3, 3.4, 3.5],
            "worst": ["", "", "start: is uncertain", "", "", "stop"],
        }
    )
    rows = unspoken(table).table.rows
    assert [row[1:3] for row in rows] == [("10.0 L/min", "11.0 L/min"), ("13.0 L/min", "14.0 L/min")]
    assert [row[3] for row in rows] == ["3.0 to 3.1", "3.3 to 3.4"]
    assert unspoken(table.assign(worst="start")).table.rows[0][0] == "none of those tried"


@pytest.mark.identity
def test_what_page_04_says_of_its_five_ways():
    plan = edit.put(demo_plan("one-bed"), {"limits.residual": 0.05})  # its far end stays wet by 45 mm
    tried = (("1 in", 18), ("1 in", 10), ("3/4 in", 18), ("3/4 in", 14), ("3/4 in", 11))
    rows = ways(plan, [(size, q / 60e3) for size, q in tried]).table.rows
    assert [row[-1] for row in rows] == [
        "too many floods", "start is uncertain", "too many floods", "too many floods", "nothing",
    ]  # fmt: skip
    assert rows[1][1] == "10.0 L/min"
    assert verdict(find(run_plan(with_bore(plan, "3/4 in")))) == "works"
