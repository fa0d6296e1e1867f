"""`aquacalc bench` as it is used: typed, interrupted, taken up again, and by programs."""

import json
import os
import re
import shutil
import subprocess
import sys

import pytest

from aquacalc.__main__ import main
from aquacalc.bench.trials import beside, read_trials
from aquacalc.catalogue import data_dir
from aquacalc.plan import read_plan

pytestmark = pytest.mark.identity
L = 1 / 60000


@pytest.fixture
def plan(tmp_path):
    return shutil.copy(data_dir() / "plans" / "greenhouse.toml", tmp_path / "beds.toml")


def bench(plan, *argv):
    return main(["bench", str(plan), *argv])


def typed(plan, text, *argv):
    """Run the command with what is typed; its output."""
    done = subprocess.run(
        [sys.executable, "-m", "aquacalc", "bench", str(plan), *argv],
        input=text, capture_output=True, text=True, timeout=60, env=os.environ | {"COLUMNS": "80"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_test_from_first_flow_to_enough(plan):
    said = typed(plan, "2 L in 12.8 s\nn\n5 L in 21 s\ns t\n")
    assert "Try 9.4 L/min" in said
    assert "Enough: cut." in said
    assert max(map(len, said.splitlines())) <= 80
    (path,) = beside(plan)
    assert [t.outcome for t in read_trials(path).trials] == ["did not within ten minutes", "started, stopped"]


def test_wrong_words_are_asked_for_again(plan):
    said = typed(plan, "0 L in 3 s\nten\n600 L/min\n9.4 L/min\nmaybe\nn\nq\n")
    assert "is zero" in said
    assert "ever sees" in said
    assert "is not an outcome" in said
    assert len(read_trials(beside(plan)[0]).trials) == 1


def test_a_flow_that_was_not_asked_for_counts_as_it_was_read(plan):
    said = typed(plan, "14 L/min\ns\nq\n")
    assert "It counts as 14 L/min, not as the 9.4 L/min asked for." in said
    assert read_trials(beside(plan)[0]).trials[0].jug.flow == pytest.approx(14 * L)


def test_stopped_half_way_it_goes_on_from_there(plan):
    said = typed(plan, "9.4 L/min\nn\n13 L/min\n")  # the terminal is closed before the outcome
    assert "Stopped. 1 trial is kept" in said
    again = typed(plan, "q\n")
    assert "1 trial of these parts" in again
    assert "Trial 2." in again


def test_nothing_typed_leaves_no_file(plan):
    typed(plan, "")
    assert beside(plan) == []


def test_trials_by_option_and_as_json(plan, capsys):
    assert bench(plan, "--add", "9.4 L/min: did not within ten minutes", "--add", "13 L/min: started") == 0
    assert "19 floods of 20" in capsys.readouterr().out
    assert bench(plan, "--read", "--json") == 0
    said = capsys.readouterr().out
    assert re.match(r'\{\n "\w+": ', said)  # to be read by people too
    found = json.loads(said)
    assert found["answer"] == "works"
    low, high = found["start"]["band"]
    assert 7 * L < low < 10 * L < 12 * L < high < 16 * L
    assert len(found["trials"]) == 2


def test_one_wrong_trial_of_several_keeps_none(plan, capsys):
    assert bench(plan, "--add", "9.4 L/min: n", "--add", "0 L/min: started") == 2
    assert "zero" in capsys.readouterr().err
    assert beside(plan) == []


@pytest.mark.parametrize(
    ("argv", "word"),
    [
        (["--add", "9.4 L/min started"], "colon"),
        (["--trials", "nowhere.toml"], "nowhere.toml"),
        (["--json"], "--read"),
        (["--siphon", "other"], "no siphon"),
        (["--hose", "25"], "bare number"),
        (["--read", "--into-plan"], "no trials"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line(plan, argv, word, capsys, monkeypatch):
    monkeypatch.chdir(plan.parent)
    assert bench(plan, *argv) == 2
    err = capsys.readouterr().err
    assert word in err
    assert "Fix:" in err or ";" in err
    assert err.count("\n") == 1


def test_trials_of_other_parts_do_not_count_and_it_is_said(plan, capsys):
    assert bench(plan, "--add", "9.4 L/min: n", "--add", "13 L/min: started") == 0
    plan.write_text(plan.read_text().replace('"40.9 mm"', '"45 mm"'))
    capsys.readouterr()
    assert bench(plan, "--read") == 0
    said = capsys.readouterr().out
    assert "2 trials of another lip; they do not count here." in said
    assert "measured" not in said.split("= published")[0]


def test_another_file_of_trials_is_read_and_nothing_written(plan, capsys):
    mine = plan.with_name("mine.toml")
    mine.write_text('[[trial]]\nreading = "2 L in 12 s"\noutcome = "started, stopped"\n', encoding="utf-8")
    assert bench(plan, "--trials", str(mine)) == 0
    assert "mine.toml: 1 trial of these parts." in capsys.readouterr().out
    assert beside(plan) == []


def test_the_result_goes_into_the_plan_and_only_there(plan, capsys):
    before = plan.read_text(encoding="utf-8").splitlines()
    assert bench(plan, "--add", "9.4 L/min: n", "--add", "13 L/min: started", "--into-plan") == 0
    after = plan.read_text(encoding="utf-8").splitlines()
    assert [line for line in after if line not in before] == [
        line for line in after if line.startswith(("tested =", "observed", "[siphon.priming]"))
    ]
    assert [line for line in before if line not in after] == []
    capsys.readouterr()
    main(["report", str(plan)])
    assert "The siphon starts" in capsys.readouterr().out
    assert read_plan(plan).siphons[0].priming.observed == pytest.approx(11 * L, rel=0.1)


def test_trials_that_do_not_fit_are_not_put_into_the_plan(plan, capsys):
    before = plan.read_bytes()
    turned = (f"{q} L/min: {out}" for q, out in ((6, "started"), (8, "started"), (10, "n"), (12, "n")))
    assert bench(plan, *(word for one in turned for word in ("--add", one)), "--into-plan") == 2
    assert "the wrong way round" in capsys.readouterr().err
    assert plan.read_bytes() == before
    assert len(read_trials(beside(plan)[0]).trials) == 4


def test_the_sheet_has_drawing_cautions_and_room_to_write(plan, capsys):
    page = plan.with_name("sheet.html")
    assert bench(plan, "--sheet", str(page)) == 0
    text = page.read_text(encoding="utf-8")
    for word in ("<svg", "lip 430 mm", "Never leave a bucket", "above the bucket", "Try 9.4 L/min", "Ran on"):
        assert word in text, word
    assert text.count("<tr><td>") == 10
    assert "<script" not in text
    assert "http://" not in text.replace("http://www.w3.org", "")
    page.write_text("mine", encoding="utf-8")
    assert bench(plan, "--sheet", str(page)) == 2
    assert page.read_text(encoding="utf-8") == "mine"
