"""The prompt: what if, one question, two plans side by side."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir
from aquacalc.commands.ask import QUESTIONS, SEEN
from aquacalc.commands.plans import working_out
from aquacalc.design import closest, sump
from aquacalc.design.fit import fit
from aquacalc.design.keeping import even, upkeep
from aquacalc.design.readings import Reading
from aquacalc.design.start import plan_text
from aquacalc.design.sweep import sweep
from aquacalc.design.trouble import SIGNS, Finder
from aquacalc.engine import runner
from aquacalc.findings import find, verdict
from aquacalc.plan import plan_from_text, read_plan
from aquacalc.plan.edit import get, put, put_text
from aquacalc.report.trust_part import trust_section
from aquacalc.results.cycle import run_plan

pytestmark = pytest.mark.identity
DEMO = data_dir() / "plans" / "greenhouse.toml"


def run(*argv, typed="", **keywords):
    command = [sys.executable, "-m", "aquacalc", *map(str, argv)]
    return subprocess.run(
        command, input=typed, capture_output=True, text=True, timeout=300, check=False, **keywords
    )


def test_what_turns_the_verdict_soonest_is_measured_first():
    """Each value that is named turns the verdict when it alone is moved there, the closest first."""
    near = plan_from_text(plan_text({"beds": "4", "flow": "20 L/min"}))
    found = closest.worth_measuring(near)
    assert found
    assert [turn.far for turn in found] == sorted(turn.far for turn in found)
    assert verdict(find(run_plan(near, trace=False))) == "works"
    assert found[0].to != "works"
    for turn in found:
        assert closest.MEASURE[turn.name.split()[0]], turn
    less = next(turn for turn in found if turn.name == "inflow less")
    flow = float(re.search(r"flow: ([0-9.]+) L/min", less.says)[1]) / 60e3
    for part, then in ((1.03, "works"), (0.97, less.to)):
        assert verdict(find(run_plan(put(near, {"pump.flow": flow * part}), trace=False))) == then, part
    demo = closest.worth_measuring(read_plan(DEMO))
    assert not any(turn.name == "porosity" for turn in demo)  # the demo gives it


def test_set_changes_a_value_and_the_file_stays(capsys, tmp_path):
    before = DEMO.read_bytes()
    status = main(["report", str(DEMO), "--set", "pump.flow=4 L/min"])
    assert status == 1
    assert "4.0" in capsys.readouterr().out
    assert DEMO.read_bytes() == before
    for change, word in (
        ("pump.flow", "KEY=VALUE"),
        ("pump.flo=3 L/min", '"flow"'),
        ("pump.flow=3", "unit"),
        ("bed.bed 9.floor=1 m", "bed 9"),
        ("siphon.standpipe.height=5 m", "standpipe.height"),
        ("bed.*.outlet=bananas", "choices"),
    ):
        assert main(["report", str(DEMO), "--set", change]) == 2, change
        err = capsys.readouterr().err
        assert word in err, (change, err)
        assert "Traceback" not in err


def test_ask_says_what_python_says(capsys, tmp_path):
    out = tmp_path / "taller.toml"
    assert main(["ask", "standpipe", str(DEMO), "--json", "--out", str(out)]) == 0
    said = json.loads(capsys.readouterr().out)
    answer = sump.tallest_standpipe(read_plan(DEMO))
    assert said["exact"] == answer.exact
    assert said["binding"] == answer.binding
    assert [limit["name"] for limit in said["limits"]] == [limit.name for limit in answer.limits]
    assert read_plan(out) == answer.plan
    assert set(said["changes"]) >= {"siphon.siphon.standpipe.height"}
    assert main(["ask", "standpipe", str(DEMO), "--out", str(out)]) == 2
    assert "force" in capsys.readouterr().err


@pytest.mark.parametrize(
    "question", sorted(set(QUESTIONS) - {"standpipe", "fit", "chances", "map", "trouble", "upkeep"})
)
def test_every_question_is_answered_in_text(capsys, question):
    assert main(["ask", question, str(DEMO)]) == 0
    out = capsys.readouterr().out
    assert out.count("\n") > 2
    words = {
        "sturdy": "nothing to change",
        "water": "Fill the sump to 450 mm to 650 mm",
        "powercut": "Worst for the sump, just after the siphon has started",
        "even": "They differ by 1.2 mm",
        "bed": "Verdict: works before, works after.",
    }
    said = (words[question],) if question in words else ("What limits it", "No answer", "Exactly")
    assert any(words in out for words in said), out


def test_trouble_is_told_with_what_to_look_at_first(capsys):
    """The finder's causes are tried in tests/design/test_trouble.py; here what is typed comes in and out."""
    assert set(SEEN) == set(SIGNS) - {"floods and drains"}
    seen = ["--seen", "trickles on", "--jug", "18 L/min", "--top", "bed 1 = 250 mm"]
    assert main(["ask", "trouble", str(DEMO), *seen, "--json"]) == 0
    steps = json.loads(capsys.readouterr().out)["steps"]
    assert steps[0] == "Seen: never stops, jug 18.0 L/min, top of bed 1 250 mm."
    assert "tail of the siphon" in steps[2]
    assert "Look (about" in steps[2]
    for bad, word in (
        (["--seen", "nver stops"], 'did you mean "never stops"'),
        ([], "nothing was seen"),
        (["--top", "bed 9=20 mm"], "no bed"),
        (["--top", "20"], "unit"),
        (["--fill=-3 s"], "negative"),
    ):
        assert main(["ask", "trouble", str(DEMO), *bad]) == 2, bad
        assert word in capsys.readouterr().err, bad


def test_upkeep_says_how_far_each_part_may_age(capsys):
    """The verdicts are those of the same plans run by themselves."""
    plan = read_plan(DEMO)
    finder = Finder(plan)
    words = upkeep(plan).text
    tail = next(c for c in finder.causes if c.key == "tail")
    states = [verdict(find(run)) for c, _, run in finder.ladder if c is tail]
    assert states[0] == "works"
    assert states[-1] != "works"
    turned = next(k for k, state in enumerate(states) if state != "works")
    assert f"with {tail.says((turned + 1) / len(states))} the plan {states[turned]} work" in words


def test_a_bed_that_sits_high_is_let_down_until_all_flood_alike():
    plan = read_plan(DEMO)
    up = put(plan, {"bed.bed 2.floor": 0.72, "run.bed 2.length": 0.11})
    answer = even(up)
    assert answer.exact == pytest.approx(0.02, abs=0.002)
    assert any("Let bed 2 down 19 mm" in step for step in answer.steps)
    assert get(answer.plan, "bed.bed 2.floor") == pytest.approx(0.70, abs=0.002)
    assert even(plan).plan is None


def test_map_is_the_sweep_of_python(capsys, tmp_path):
    axes = {"pump.flow": [5 / 60e3, 25 / 60e3, 45 / 60e3], "siphon.standpipe.height": [0.40, 0.43, 0.46]}
    over = ["--over", "pump.flow=5 to 45 L/min", "--over", "siphon.standpipe.height=400 mm to 460 mm"]
    page = tmp_path / "map.html"
    assert main(["ask", "map", str(DEMO), *over, "--steps", "3", "--json", "--html", str(page)]) == 0
    told = json.loads(capsys.readouterr().out)["plans"]
    table = sweep(read_plan(DEMO), axes, findings=True)
    assert [one["verdict"] for one in told] == list(table["verdict"])
    assert [one["pump.flow"] for one in told] == pytest.approx(list(table["pump.flow"]))
    assert "<svg" in page.read_text(encoding="utf-8")
    assert main(["ask", "map", str(DEMO), *over, "--steps", "3"]) == 0
    assert re.search(r"430 mm +\. # \.", capsys.readouterr().out)
    low = ["--over", "pump.flow=15 to 25 L/min", "--over", "limits.bed_freeboard=5 to 15 mm", "--steps", "2"]
    assert main(["ask", "map", str(DEMO), *low]) == 0
    assert "15.0 mm  ? #\n5.00 mm  ? #\n         15" in capsys.readouterr().out  # signs under each other
    for bad, word in (
        (["pump.flow=5"], "not a range"),
        ([], "0 values"),
        (["bed.*.media=1 to 2 mm"], "not a number"),
        (["pump.flow=5 to 4 L/min"], "falls"),
        (["pump.flo=5 to 6 L/min"], "flow"),
    ):
        assert main(["ask", "map", str(DEMO), *(x for one in bad for x in ("--over", one))]) == 2
        assert word in capsys.readouterr().err, bad
    for steps in ("2.5", "61"):
        assert main(["ask", "map", str(DEMO), *over, "--steps", steps]) == 2
    capsys.readouterr()
    over[-1] = "siphon.standpipe.height=2 m to 3 m"  # above every wall
    assert main(["ask", "map", str(DEMO), *over, "--steps", "2"]) == 0
    assert "4 cannot be built" in capsys.readouterr().out


def test_a_question_never_writes_over_its_own_plan(tmp_path, capsys):
    plan = tmp_path / "mine.toml"
    plan.write_bytes(DEMO.read_bytes())
    assert main(["ask", "sump", str(plan), "--out", str(plan), "--force"]) == 2
    assert "made from" in capsys.readouterr().err
    assert plan.read_bytes() == DEMO.read_bytes()


def test_what_nobody_gave_follows_set(capsys):
    minimal = read_plan(data_dir() / "plans" / "minimal.toml")
    for texts, path, value in (
        ({"bed.*.media": "gravel"}, "bed.bed 1.porosity", 0.40),
        ({"bed.*.media": "gravel", "bed.*.porosity": "0.38"}, "bed.bed 2.porosity", 0.38),
        ({"bed.*.porosity": "0.38", "bed.*.media": "gravel"}, "bed.bed 2.porosity", 0.38),
        ({"sump.depth": "800 mm"}, "sump.water_level", 0.75),
        ({"bed.*.depth": "400 mm"}, "bed.bed 3.media_depth", 0.37),
        ({"chamber.chamber.floor": "400 mm"}, "run.bed 1.outfall", 0.45),
        ({"siphon.bell.rim_height": "40 mm"}, "siphon.bell.opening_height", 0.04),
        ({"siphon.standpipe.height": "400 mm"}, "siphon.bell.top_height", 0.47),  # given, so it stays
    ):
        assert get(put_text(minimal, texts), path) == pytest.approx(value), texts
    assert get(put_text(read_plan(DEMO), {"bed.*.media": "gravel"}), "bed.bed 1.porosity") == get(
        read_plan(DEMO), "bed.bed 1.porosity"
    )  # given


def test_one_of_several_siphons_is_named(capsys):
    plan = str(Path(__file__).parent / "plans" / "two-groups.toml")
    for question in ("siphon", "drain", "trouble"):
        assert main(["ask", question, plan]) == 2
        assert '--siphon, one of "siphon A", "siphon B"' in capsys.readouterr().err
    assert main(["ask", "siphon", plan, "--siphon", "siphon B"]) == 0
    assert "siphon B" in capsys.readouterr().out
    assert main(["ask", "siphon", plan, "--siphon", "siphon C"]) == 2
    assert "siphon C" in capsys.readouterr().err


OVER = "pump.flow=10 to 30 L/min"


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (["map", "--over", OVER, "--steps", "1"], "--steps 1: cannot be drawn. Fix: give"),
        (["map", "--over", OVER, "--steps", "61"], "--steps 61: cannot be drawn. Fix: give a whole number"),
        (["map", "--over", OVER, "--over", OVER, "--over", OVER], "--over: 3 values given. Fix: write"),
        (["map", "--over", "pump.flow=10"], 'pump.flow=10": is not a range. Fix: write --over'),
        (["map", "--over", "pump.flow=30 to 10 L/min"], "falls. Fix: write the smaller value first."),
        (["map", "--over", "pump.flow=10 to 10 L/min"], "falls. Fix: write the smaller value first."),
        (["map", "--over", "pump.flow=10 to 30 kg"], 'has the unit "kg" (mass) where a flow is wanted'),
        (["map", "--over", "bed=1 to 2 m"], '"bed" has no key. Fix: write bed.NAME.KEY'),
        (["map", "--over", "bed.bed 1=1 to 2 m"], '"bed.bed 1" has no key. Fix: write bed.bed 1.KEY'),
        (["map", "--over", "pump.flow=10 to 1e309 L/min"], "1e309 L/min: cannot be right (0 m³/s to"),
        (["map", "--over", "bed.*.depth=-1 to 1 m"], "which a length cannot be"),
        (["strainer", "--head", "1e9 m"], "--head 1e9 m: cannot be right (0.0001 m to 1000 m). Fix: check"),
        (["pump", "--floods", "0"], "--floods 0: is zero. Fix: give the real number, above 0."),
        (["chances", "--size", "-5"], "--size -5: is negative. Fix: give"),
        (["trouble", "--top", "bed 1=9 m"], "top of bed 1: is more than its depth; measure it again"),
        (["trouble", "--seen", "sings"], '"sings" is not a known sign of trouble; write one of "'),
        (["trouble", "--top", "bed 1=5 L"], '--top: "5 L" has the unit "L" (volume) where a length is'),
        (["trouble", "--top", "bed 9=5 mm"], 'no bed "bed 9" on the siphon; name one of its beds'),
        (["strainer", "--bed", "bed 9"], 'there is no bed "bed 9"; write one of bed 1, bed 2, bed 3'),
        (["standpipe", "--siphon", "x"], 'there is no siphon "x"; write one of "siphon"'),
        (["fit", "--readings", "r.csv"], 'line 2.value = "long": does not begin with a number. Fix'),
        (["sturdy", "--workshop", "w.toml"], 'workshop.kerf = "x": does not begin with a number. Fix'),
    ],
    ids=lambda of: " ".join(of)[:40] if isinstance(of, list) else "",
)  # fmt: skip
def test_a_word_that_cannot_be_used_is_one_sentence(capsys, tmp_path, monkeypatch, argv, said):
    """Place, value and what to write instead, and nothing printed before."""
    monkeypatch.chdir(tmp_path)
    head = "key,siphon,reading,how,bed,unit,plan,value,error"
    Path("r.csv").write_text(f"{head}\nfill_time,siphon,,,,s,,long,10\n", encoding="utf-8")
    Path("w.toml").write_text('[workshop]\nkerf = "x"\n', encoding="utf-8")
    assert main(["ask", argv[0], str(DEMO), *argv[1:]]) == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert said in err


def test_options_of_another_question_are_refused(capsys):
    assert main(["ask", "sump", str(DEMO), "--floods", "3"]) == 2
    assert "does not belong" in capsys.readouterr().err
    assert main(["ask", "pump", str(DEMO), "--floods", "-3"]) == 2
    assert "above 0" in capsys.readouterr().err


def test_compare_shows_only_what_differs(capsys):
    assert main(["compare", str(DEMO), "--set", "siphon.standpipe.height=400 mm"]) == 0
    out = capsys.readouterr().out
    assert re.search(r"siphon\.siphon\.standpipe\.height +430(\.0)? mm +400(\.0)? mm", out)
    assert "floods an hour" in out
    assert "bed.bed 1" not in out
    other = data_dir() / "plans" / "sump-overflows.toml"
    assert main(["compare", str(DEMO), str(other), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["verdict"]["verdict"] == {"a": "works", "b": "does not"}
    assert main(["compare", str(DEMO)]) == 2
    prices = str(data_dir() / "workshop-demo.toml")
    out_of = ["compare", str(DEMO), "--set", 'siphon.tail.fittings=["2 x bend 90, swept", "exit"]']
    capsys.readouterr()
    assert main([*out_of, "--workshop", prices, "--json"]) in (0, 1, 3)
    told = json.loads(capsys.readouterr().out)
    assert "bend 90, swept ASTM D1785 schedule 40 1 in" in told["parts"], told["parts"]
    assert told["cost"]["total"]["a"] != told["cost"]["total"]["b"]


def test_faults_are_json_for_programs(capsys, tmp_path):
    file = tmp_path / "bad.toml"
    file.write_text(DEMO.read_text(encoding="utf-8").replace('"1.2 m"', '"1.2 L"'), encoding="utf-8")
    assert main(["report", str(file), "--json"]) == 2
    told = json.loads(capsys.readouterr().out)
    assert told["faults"][0]["key"] == "bed.bed 1.length"
    assert told["faults"][0]["line"] == 15


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full device here")
def test_the_solver_is_compiled_first_for_many_plans_only(monkeypatch):
    said = []
    monkeypatch.setattr(runner, "compile_now", said.append)
    with working_out(DEMO):
        assert said == []
    with working_out(DEMO, many=True):
        assert len(said) == 1


def test_whatever_happens_is_one_line_and_two(monkeypatch, tmp_path):
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "aquacalc", "report", str(DEMO)], stdout=full, stderr=subprocess.PIPE,
            text=True, timeout=120, check=False,
        )  # fmt: skip
    said = done.stderr.replace("working it out; Ctrl-C stops ...\n", "")  # on a slow machine
    assert (done.returncode, said.count("\n")) == (2, 1), done.stderr
    closed = subprocess.run(
        f'"{sys.executable}" -m aquacalc report "{DEMO}" >&-', shell=True, stderr=subprocess.PIPE, text=True,
        timeout=120, check=False,
    )  # fmt: skip
    assert "Traceback" not in closed.stderr
    assert closed.returncode in (0, 2)
    long = run("report", "x" * 5000 + ".toml")
    assert (long.returncode, long.stderr.count("\n")) == (2, 1), long.stderr
    huge = run("start", "--yes", "--beds", "9" * 5000, "--out", tmp_path / "huge.toml")
    assert "whole number from 1 to 500" in huge.stderr
    key = run("report", DEMO, "--set", "a." * 5000 + "b=1")
    assert (key.returncode, len(key.stderr) < 400) == (2, True), key.stderr
    os.mkfifo(tmp_path / "pipe")  # a plan from a pipe would be waited for
    for command in (["report"], ["build", "--out", tmp_path / "out", DEMO, "--workshop"]):
        piped = run(*command, tmp_path / "pipe")
        assert (piped.returncode, piped.stderr.count("\n")) == (2, 1), piped.stderr
        assert "a pipe or a device" in piped.stderr
    import aquacalc.commands.report as report

    monkeypatch.setattr(report, "run", lambda args: 1 / 0)
    assert main(["report", str(DEMO)]) == 2
    monkeypatch.setattr(report, "run", lambda args: __import__("no_such_part"))
    assert main(["report", str(DEMO)]) == 2


def test_readings_and_chances_are_asked_at_the_prompt(capsys, tmp_path):
    assert main(["ask", "fit", str(DEMO)]) == 2
    assert "--readings" in capsys.readouterr().err
    sheet = tmp_path / "readings.csv"
    sheet.write_text(
        "key,siphon,reading,how,bed,unit,plan,value,error\nfill_time,siphon,,,,s,,12:30,10\n",
        encoding="utf-8",
    )
    assert main(["ask", "fit", str(DEMO), "--readings", str(sheet), "--json"]) == 0
    plan = read_plan(DEMO)
    said = json.loads(capsys.readouterr().out)["said"]
    assert said == list(fit(plan, [Reading("fill time", 750.0, 10.0)]).said)


def test_strainer_of_a_bed_without_one_wants_the_size_of_a_slot(tmp_path, capsys):
    text, bare = (data_dir() / "plans" / "minimal.toml").read_text("utf-8"), tmp_path / "bare.toml"
    bare.write_text(re.sub(r"strainer = .*\n", "", text), encoding="utf-8")
    assert main(["ask", "strainer", str(bare)]) == 2
    assert "--width" in capsys.readouterr().err
    assert main(["ask", "strainer", str(bare), "--width", "3 mm", "--length", "25 mm"]) == 0
    assert "What limits it" in capsys.readouterr().out


def test_only_the_bed_without_a_strainer_wants_the_size_of_a_slot(tmp_path, capsys):
    before, line, after = re.split(r"(strainer = .*\n)", DEMO.read_text("utf-8"), maxsplit=1)
    (tmp_path / "one.toml").write_text(before + after, encoding="utf-8")  # the first of three
    ended = [main(["ask", "strainer", str(tmp_path / "one.toml"), "--bed", f"bed {k}"]) for k in (1, 2)]
    assert (line[:8], ended) == ("strainer", [2, 0])
    assert "--width" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("system", "other"), [("us", r"\d (mm|L/min|L|m)\b"), ("metric", r"\d (in|gpm|ft)\b")]
)
def test_how_far_to_trust_it_is_in_the_readers_units(system, other):
    section = trust_section(system)
    told = [section.intro, *(c.value for line in section.tables[0].lines for c in line.cells)]
    assert [t for t in told if re.search(other, t)] == []
