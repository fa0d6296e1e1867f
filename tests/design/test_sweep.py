"""Many plans at once: the same answers as one by one, every plan a row, stop, and an engine from outside."""

import threading
from concurrent.futures import BrokenExecutor, Future

import pandas as pd
import pytest
from distributed import KilledWorker

from aquacalc.commands.ask import QUESTIONS, _told_map
from aquacalc.design import chances, many_plans
from aquacalc.design import sweep as s
from aquacalc.design.many_plans import run_plans, spread
from aquacalc.plan import edit
from aquacalc.results.cycle import OUTCOMES, run_plan

FLOWS = [2.0e-4, 3.0e-4, 9.0e-4]
HEIGHTS = [0.40, 0.43, 0.50]
VALUES = {"pump.flow": FLOWS, "siphon.standpipe.height": HEIGHTS}


@pytest.fixture(scope="module")
def table(greenhouse):
    return s.sweep(greenhouse, VALUES)


@pytest.mark.identity
def test_a_sweep_gives_what_one_plan_gives(greenhouse, table):
    for flow in FLOWS[:2]:
        changed = edit.put(greenhouse, {"pump.flow": flow, "siphon.standpipe.height": 0.43})
        alone = run_plan(changed, trace=False)
        row = table[(table["pump.flow"] == flow) & (table["siphon.standpipe.height"] == 0.43)].iloc[0]
        group = alone.groups[0]
        assert row["siphon.period"] == pytest.approx(group.period, rel=1e-9)
        assert row["siphon.drain_time"] == pytest.approx(group.drain_time, rel=1e-9)
        assert row["siphon.floods_per_hour"] == pytest.approx(3600.0 / group.period, rel=1e-9)
        assert row["sump_low"] == pytest.approx(alone.sump_low, abs=1e-9)
        assert row["bed 1.high"] == pytest.approx(alone.node("bed 1").high, abs=1e-9)


@pytest.mark.identity
def test_every_combination_is_a_row_in_order(table):
    assert len(table) == 9
    assert table["pump.flow"].tolist() == [f for f in FLOWS for _ in HEIGHTS]
    assert table["siphon.standpipe.height"].tolist() == HEIGHTS * 3
    assert table.attrs == {"plans": 9, "complete": True}


@pytest.mark.identity
def test_a_plan_that_cannot_be_built_keeps_its_reason(table):
    high = table[table["siphon.standpipe.height"] == 0.50]
    assert set(high["outcome"]) == {"cannot be built"}
    assert high["reason"].str.contains('standpipe.height = "500 mm"').all()
    assert high["siphon.period"].isna().all()
    low = table[table["siphon.standpipe.height"] == 0.43]
    assert low["outcome"].tolist() == ["cycles", "cycles", "runs on"]
    assert (low["reason"] == "").all()


@pytest.mark.identity
def test_every_outcome_of_the_engine_has_its_place():
    assert set(s.WORST_FIRST) == set(OUTCOMES.values())


@pytest.mark.identity
def test_the_verdict_of_each_plan_is_a_column(greenhouse):
    """4 and 40 L/min are below and above what the siphon takes; 9 lies in the band of its start."""
    table = s.sweep(greenhouse, {"pump.flow": [q / 60e3 for q in (4, 9, 18, 41)]}, findings=True)
    assert table["verdict"].tolist() == ["does not", "may or may not", "works", "does not"]
    assert table["worst"].tolist() == [
        "Spills without starting", "Start is uncertain", "", "Runs on without stopping",
    ]  # fmt: skip
    assert table["finding.start"].tolist()[1:3] == ["may or may not", "good"]


@pytest.mark.identity
def test_layouts_may_differ_within_one_batch(greenhouse):
    other = edit.put(greenhouse, {"bed.bed 1.shape": "half drum", "bed.bed 1.diameter": 0.6})
    runs = run_plans([greenhouse, other, greenhouse])
    assert runs[0].groups[0].period == runs[2].groups[0].period
    assert runs[1].groups[0].period == pytest.approx(run_plan(other).groups[0].period, rel=1e-9)
    assert runs[1].groups[0].period != runs[0].groups[0].period


@pytest.mark.identity
def test_stop_keeps_what_is_finished(greenhouse, monkeypatch):
    monkeypatch.setattr(s, "CHUNK", 4)
    stop, seen = threading.Event(), []
    flows = [3e-4 + 1e-6 * k for k in range(40)]

    def progress(done, total):
        seen.append((done, total))
        if done >= 4:
            stop.set()

    table = s.sweep(
        greenhouse, {"pump.flow": [3e-4 + 1e-6 * k for k in range(40)]}, progress=progress, stop=stop
    )
    assert seen[0] == (0, 40)
    assert 4 <= len(table) < 40
    assert table.attrs == {"plans": 40, "complete": False}
    assert table["pump.flow"].tolist() == flows[: len(table)]


class Ended:
    """Runs each job at once; the third ends as it is told."""

    def __init__(self, how):
        self.jobs, self.how = 0, how

    def submit(self, work, *job):
        self.jobs += 1
        future = Future()
        if self.jobs == 3:
            future.result = lambda: (_ for _ in ()).throw(self.how)
        else:
            future.set_result(work(*job))
        return future


@pytest.mark.identity
@pytest.mark.parametrize(
    "how",
    [KeyboardInterrupt(), BrokenExecutor("a worker was killed"), KilledWorker("a job", None, 3)],
    ids=lambda how: type(how).__name__,
)
def test_an_interrupt_and_a_killed_worker_keep_what_is_done_and_it_is_said(greenhouse, monkeypatch, how):
    monkeypatch.setattr(s, "CHUNK", 2)
    values = {"pump.flow": [2e-4, 3e-4, 4e-4], "siphon.standpipe.height": [0.40, 0.42, 0.43]}
    table = s.sweep(greenhouse, values, findings=True, client=Ended(how))
    assert len(table) == 4
    assert table.attrs == {"plans": 9, "complete": False}
    told, _ = _told_map(QUESTIONS["map"], greenhouse, table, {"values": values})
    assert "with 4 of 9 plans run" in told.text()
    assert told.data["counts"]
    monkeypatch.setattr(chances, "CHUNK", 2 * (len(chances.VARIED) + 2))
    study = chances.study(greenhouse, size=8, client=Ended(how))
    assert not study.complete
    assert len(study.table) == 4 * (len(chances.VARIED) + 2)
    assert study.said[0].startswith("Stopped early")


@pytest.mark.identity
def test_stop_before_the_start_gives_an_empty_table(greenhouse):
    table = s.sweep(greenhouse, VALUES, stop=lambda: True)
    assert len(table) == 0
    assert "outcome" in table.columns


@pytest.mark.identity
def test_unknown_paths_and_empty_axes_are_refused(greenhouse):
    with pytest.raises(KeyError, match="not a key of pump"):
        s.sweep(greenhouse, {"pump.flwo": [1.0]})
    with pytest.raises(ValueError, match=r"pump\.flow.*no values"):
        s.sweep(greenhouse, {"pump.flow": []})


@pytest.mark.identity
def test_tables_go_to_file_and_back(table, tmp_path):
    for name, read in (("t.csv", pd.read_csv), ("t.parquet", pd.read_parquet)):
        s.save_table(table, tmp_path / name)
        back = read(tmp_path / name)
        assert back.columns.tolist() == table.columns.tolist()
        assert back["pump.flow"].tolist() == table["pump.flow"].tolist()
        assert back["outcome"].tolist() == table["outcome"].tolist()
    with pytest.raises(ValueError, match=r"\.csv or \.parquet"):
        s.save_table(table, tmp_path / "t.txt")


def add(a, b):
    return a + b


@pytest.mark.identity
def test_jobs_come_back_in_order_and_are_taken_as_needed():
    taken = []

    def jobs():
        for k in range(100):
            taken.append(k)
            yield k, 1

    results = spread(add, jobs(), threads=2)
    assert next(results) == 1
    assert len(taken) == 4  # two for each thread
    assert list(results) == [k + 1 for k in range(1, 100)]


@pytest.mark.identity
def test_an_error_in_a_job_reaches_the_caller():
    with pytest.raises(TypeError):
        list(spread(add, [(1, 2), (1, "x"), (3, 4)], threads=1))


@pytest.mark.identity
@pytest.mark.timeout(240)
def test_the_same_table_comes_from_a_dask_cluster(greenhouse, table):
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        there = s.sweep(greenhouse, VALUES, client=client)
    pd.testing.assert_frame_equal(there, table)


def test_jobs_run_on_as_many_threads_as_asked_or_as_there_are_cores(monkeypatch):
    asked = []
    pool = many_plans.ThreadPoolExecutor

    def counted(count):
        asked.append(count)
        return pool(1)

    monkeypatch.setattr(many_plans, "ThreadPoolExecutor", counted)
    for threads, cores in ((3, 8), (None, 8), (None, None)):
        monkeypatch.setattr(many_plans.os, "cpu_count", lambda cores=cores: cores)
        assert list(many_plans.spread(abs, [(-1,), (2,)], threads=threads)) == [1, 2]
    assert asked == [3, 8, 1]
