"""Tables of ways say what the findings say, and no range spans a plan with something against it."""

import numpy as np
import pandas as pd
import pytest

from aquacalc.findings import find, verdict
from aquacalc.notebook import demo_plan
from aquacalc.notebook.tuning_panels import with_bore
from aquacalc.notebook.ways import bores, unspoken, ways
from aquacalc.results.cycle import run_plan


@pytest.mark.identity
def test_bores_say_what_the_findings_say():
    plan = demo_plan()
    rows = {row[0]: row for row in bores(plan, ("1 in", "1-1/4 in")).table.rows}
    for size, row in rows.items():
        assert row[1] == verdict(find(run_plan(with_bore(plan, size)))), size
    assert rows["1-1/4 in"][1] != "works"


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
    assert unspoken(table.assign(worst="start")).table.rows[0][0] == "none of those tried"


@pytest.mark.identity
def test_ways_say_what_speaks_against_each():
    rows = ways(demo_plan("one-bed"), (("1 in", 10 / 60e3), ("3/4 in", 12 / 60e3))).table.rows
    assert "start is uncertain" in rows[0][-1]
    assert rows[1][1] == "12.0 L/min"
