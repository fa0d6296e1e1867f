"""What commands say and wait for, by hand: columns, pages, patience, JupyterLab, ranges."""

import json
import math
import os
import re
import socket
import subprocess
from types import SimpleNamespace

import pytest

from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir
from aquacalc.commands import ask, check, compare, plans, start, workbooks
from aquacalc.commands.ask import _axes
from aquacalc.commands.told import Table, Told, tell
from aquacalc.design import closest
from aquacalc.failure import Failure
from aquacalc.files import MARK
from aquacalc.plan.read import read_plan

pytestmark = pytest.mark.identity
DEMO = data_dir() / "plans" / "greenhouse.toml"


def test_an_answer_is_set_in_columns_of_a_hundred_signs():
    """Names take 9 + 2 signs and "now" 3 + 2: 84 are left, which are 17 words of four letters."""
    words = " ".join(["word"] * 30)
    rows = (("a", "bb", words), ("long name", "c", ""))
    told = Told(
        "Title", ("- " + words, words), (Table("Rows", ("", "now", "then"), rows, note="A note."),
                                         Table("None", ("a", "b"), ())), drawing=("drawn   as it is",),
    )  # fmt: skip
    assert told.text().splitlines() == [
        "Title", "-----",
        "- " + " ".join(["word"] * 19), "  " + " ".join(["word"] * 11),  # 2 + 19 * 5 - 1 is 96
        " ".join(["word"] * 20), " ".join(["word"] * 10),  # 99
        "drawn   as it is",
        "", "Rows", "----",
        "           now  then",
        "a          bb   " + " ".join(["word"] * 17), " " * 16 + " ".join(["word"] * 13),
        "long name  c",
        "A note.",
        "", "None", "----", "no difference",
    ]  # fmt: skip


def test_a_table_without_heads_has_none_and_keeps_thirty_signs_for_its_last_column():
    table = Table("T", ("", ""), (("n" * 80, " ".join(["word"] * 7)),))
    lines = Told("", (), (table,)).text().splitlines()
    assert lines == ["", "T", "-", "n" * 80 + "  " + " ".join(["word"] * 6), " " * 82 + "word"]


def test_a_long_title_is_underlined_as_far_as_a_line_goes():
    assert [len(line) for line in Told("t" * 120, ()).text().splitlines()] == [120, 100]


def test_a_page_of_an_answer_has_lists_where_lines_are_points():
    rows = (("pump.flow", "a<b", "c"),)
    told = Told(
        "A & B", ("one", "- two", "- three", "four", "- five"),
        (Table("T", ("", "x", "y"), rows, note="n"), Table("U", ("a", "b"), (), none="nothing")),
        picture="<svg></svg>", alt="A line.",
    )  # fmt: skip
    body = told.page().partition("<main>\n")[2].partition("\n</main>")[0].splitlines()
    assert body == [
        "<h1>A &amp; B</h1>", "<p>one</p>", "<ul>", "<li>two</li>", "<li>three</li>", "</ul>", "<p>four</p>",
        "<ul>", "<li>five</li>", "</ul>",
        '<figure><div class="scroll" tabindex="0" role="group" aria-label="A &amp; B"><svg></svg></div>'
        "<figcaption>A line.</figcaption></figure>",
        "<section><h2>T</h2>",
        '<div class="scroll"><table><thead><tr><th scope="col"></th><th scope="col">x</th>'
        '<th scope="col">y</th></tr></thead><tbody>'
        '<tr><th scope="row">pump.<wbr>flow</th><td>a&lt;b</td><td>c</td></tr></tbody></table></div>',
        '<p class="note">n</p>', "</section>",
        "<section><h2>U</h2>", "<p>nothing</p>", "</section>",
    ]  # fmt: skip
    assert "</ul>" not in Told("A", ("one",)).page()


@pytest.mark.parametrize("as_json", [False, True])
@pytest.mark.parametrize("as_page", [False, True])
def test_an_answer_is_told_once(tmp_path, capsys, as_json, as_page):
    page = tmp_path / "page.html" if as_page else None
    told = Told("Höhe", ("one",), data={"a": "ö"})
    tell(told, SimpleNamespace(html=page, json=as_json), tmp_path / "plan.toml")
    said = capsys.readouterr()
    assert (said.out == "Höhe\n----\none\n") == (not as_json and not as_page)
    assert (said.out == '{\n  "a": "ö"\n}\n') == as_json
    wrote = f"Page written: {page}\n"
    assert (said.err if as_json else said.out if as_page else wrote) == (
        wrote if as_page or not as_json else ""
    )
    if as_page:
        tell(told, SimpleNamespace(html=page, json=as_json), tmp_path / "plan.toml")  # a page of ours: again
        page.write_text("theirs")
        with pytest.raises(Failure):
            tell(told, SimpleNamespace(html=page, json=as_json), tmp_path / "plan.toml")
        tell(told, SimpleNamespace(html=page, json=as_json, force=True), tmp_path / "plan.toml")


def test_work_that_takes_long_says_so_and_how_far_it_is(monkeypatch):
    """After 2 s that it works; then every 4 s how far."""
    now, said = [100.0], []
    monkeypatch.setattr(plans.time, "monotonic", lambda: now[0])
    monkeypatch.setattr(plans, "_say", said.append)
    with plans.working_out(DEMO) as waiting:
        timer = waiting.timer
        assert (timer.interval, timer.daemon, timer.is_alive()) == (2.0, True, True)
        assert timer.args == ["working it out; Ctrl-C stops ..."]
        for after in (0.0, 3.9, 4.0, 4.1, 7.9, 8.0, 11.9):
            now[0] = 100.0 + after
            waiting(int(10 * after), 90 if after < 8.0 else 0)
    assert said == ["  40 of 90 plans run", "  80 plans run"]
    assert timer.finished.is_set()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("pump.flow", "is not a change"), ("=3 L/min", "is not a change"), (" =3", "is not a change"),
        ("k" * 201 + "=1", "is not a change"), ("k" * 200 + "=1", "kkk"),
    ],
)  # fmt: skip
def test_what_is_no_change_is_refused(change, said):
    with pytest.raises(Failure) as caught:
        plans.load(DEMO, [change])
    assert ("is not a change" in str(caught.value)) == (said == "is not a change")
    assert str(caught.value).startswith("--set ")
    assert said in str(caught.value)


def test_blanks_around_a_change_do_not_count():
    assert plans.load(DEMO, [" pump.flow = 17 L/min "]).pump.flow == pytest.approx(17e-3 / 60.0)


@pytest.mark.parametrize(
    ("count", "said"),
    [(0, "Nothing changes the verdict"), (2, "Nothing else changes the verdict"), (3, ""), (5, "")],
)
def test_the_three_that_matter_most_are_to_be_measured_first(tmp_path, monkeypatch, capsys, count, said):
    turns = [SimpleNamespace(name="inflow less", says=f"turn {k}.") for k in range(count)]
    monkeypatch.setattr(closest, "worth_measuring", lambda plan: turns)
    assert main(["start", "--yes", "--out", str(tmp_path / "plan.toml")]) == 0
    out = capsys.readouterr().out.partition("Measure these first\n")[2]
    named = [f"{k + 1}. turn {k}.\n   {closest.MEASURE['inflow']}\n" for k in range(min(count, 3))]
    assert out.startswith("-------------------\n" + "".join(named) + said)
    assert ("Nothing" in out) == bool(said)
    assert "turn 3" not in out


def test_questions_are_numbered_from_one_and_asked_until_an_answer_can_be_read(monkeypatch, capsys):
    from aquacalc.design.start import QUESTIONS

    typed = iter(["three hundred", "3", " ? ", *[""] * 6])
    monkeypatch.setattr("builtins.input", lambda prompt: next(typed))
    assert start._asked(QUESTIONS, "us") == {QUESTIONS[0].name: "3"}
    out = capsys.readouterr().out
    for number, question in enumerate(QUESTIONS, 1):
        asked = f"{number}/8 {question.asks} [{question.usual['us']}]"
        assert out.count(asked) == (2 if number == 1 else 1), asked
    assert next(typed, None) is None


@pytest.mark.parametrize("user", [0, 1000])
def test_only_root_lets_jupyterlab_run_as_root(tmp_path, monkeypatch, user):
    monkeypatch.setattr(os, "geteuid", lambda: user, raising=False)
    command = workbooks.lab_command(tmp_path)
    assert ("--allow-root" in command) == (user == 0)
    assert f"--ServerApp.root_dir={tmp_path}" in command
    monkeypatch.delattr(os, "geteuid")
    assert "--allow-root" not in workbooks.lab_command(tmp_path)


@pytest.mark.parametrize("theirs", [None, "/etc/theirs"])
def test_jupyterlab_keeps_the_users_settings_before_ours(monkeypatch, theirs):
    monkeypatch.delenv("JUPYTER_CONFIG_PATH", raising=False)
    if theirs:
        monkeypatch.setenv("JUPYTER_CONFIG_PATH", theirs)
    set_to = workbooks.lab_environment("abc")
    folders = ([theirs] if theirs else []) + [str(workbooks.OURS)]
    assert set_to["JUPYTER_CONFIG_PATH"].split(os.pathsep) == folders
    assert (set_to["JUPYTER_TOKEN"], set_to["JUPYTER_PREFER_ENV_PATH"]) == ("abc", "1")
    assert (workbooks.OURS / "labextensions").is_dir()


class Lab:
    """A process as `subprocess.Popen` gives it: ends after `wait` has been asked `stubborn` times."""

    pid, returncode = 77, 3

    def __init__(self, ended=None, stubborn=0):
        self.ended, self.stubborn, self.did = ended, stubborn, []

    def poll(self):
        return self.ended

    def terminate(self):
        self.did.append("terminate")

    def kill(self):
        self.did.append("kill")

    def wait(self, seconds=None):
        self.did.append(seconds)
        if self.stubborn:
            self.stubborn -= 1
            raise subprocess.TimeoutExpired("lab", seconds)


def test_jupyterlab_is_ended_and_killed_after_ten_seconds():
    for lab, did in (
        (Lab(ended=0), []), (Lab(), ["terminate", 10.0]),
        (Lab(stubborn=1), ["terminate", 10.0, "kill", None]),
    ):  # fmt: skip
        workbooks._stop(lab)
        assert lab.did == pytest.approx(did) if not did else lab.did == did


def test_the_address_is_that_of_our_own_server_once_it_listens(monkeypatch):
    """Others of the same user may run; ours is waited for, a minute at most."""
    from jupyter_server import serverapp

    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    listening.listen()
    port = listening.getsockname()[1]
    shut = socket.socket()
    shut.bind(("127.0.0.1", 0))  # bound, but nothing listens

    def server(pid, port, name):
        at = {"hostname": "127.0.0.1", "port": port}
        return {"pid": pid, "url": f"http://{name}/", "token": "t", **at}

    now = [0.0]
    monkeypatch.setattr(workbooks.time, "monotonic", lambda: now[0])

    def slept(seconds):
        assert seconds == 0.1
        now[0] += 10.0

    monkeypatch.setattr(workbooks.time, "sleep", slept)
    rounds = iter([
        [], [server(5, port, "other")], [server(77, shut.getsockname()[1], "early")],
        [server(5, port, "other"), server(77, port, "ours")],
    ])  # fmt: skip
    monkeypatch.setattr(serverapp, "list_running_servers", lambda: next(rounds))
    assert workbooks._address(Lab()) == "http://ours/doc/tree/00-start-here.ipynb?token=t"
    assert now[0] == 30.0
    monkeypatch.setattr(serverapp, "list_running_servers", lambda: [])
    with pytest.raises(Failure, match="said nothing for 60 s"):
        workbooks._address(Lab())
    assert now[0] == 90.0
    with pytest.raises(Failure, match="stopped with status 3"):
        workbooks._address(Lab(ended=3))
    assert now[0] == 90.0
    listening.close()
    shut.close()


def test_workbooks_that_are_all_there_are_opened_as_they_are(tmp_path, monkeypatch, capsys):
    opened = []
    monkeypatch.setattr(workbooks, "open_lab", lambda folder: opened.append(folder) or 0)
    for name in workbooks.travelling():
        if name.endswith(".ipynb"):
            (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / name).write_text("mine")
    assert main(["workbooks", str(tmp_path), "--open"]) == 0
    assert opened == [tmp_path]
    assert "are in" in capsys.readouterr().out
    assert not (tmp_path / "data").exists()
    assert main(["workbooks", str(tmp_path / "new"), "--open"]) == 0
    assert (tmp_path / "new" / "data" / "pipes.csv").is_file()
    said = capsys.readouterr().out
    assert "Copied." in said
    assert "Open them with" not in said
    assert not any(part.startswith(("_", ".")) for name in workbooks.travelling() for part in name.split("/"))


def test_a_range_is_cut_into_steps_with_both_ends():
    """10 to 30 L/min in five steps: every 5."""
    plan = read_plan(DEMO)
    for over in ("pump.flow=10 to 30 L/min", "pump.flow = 10 L/min to 30 L/min", "pump.flow=1e1 to 30 L/min"):
        axes = _axes(plan, {"over": [over], "steps": 5})
        assert list(axes) == ["pump.flow"]
        assert axes["pump.flow"] == pytest.approx([q / 60e3 for q in (10, 15, 20, 25, 30)], rel=1e-12)
    share = _axes(plan, {"over": ["bed.*.porosity=40 % to 50 %"], "steps": 2})
    assert share == {"bed.*.porosity": pytest.approx([0.40, 0.50])}


@pytest.mark.parametrize(
    ("over", "steps", "said"),
    [
        (["pump.flow=1 to 2 L/min"], 2, ""), (["pump.flow=1 to 2 L/min"], 60, ""),
        (["pump.flow=1 to 2 L/min"], 1, "--steps 1"), (["pump.flow=1 to 2 L/min"], 61, "--steps 61"),
        ([], 5, "0 values"), (None, 5, "0 values"), (["pump.flow=1 to 2 L/min"] * 3, 5, "3 values"),
        (["pump.flow=2 to 2 L/min"], 5, "falls"), (["pump.flow= to 2 L/min"], 5, "not a range"),
        (["pump.flow=1 to "], 5, "not a range"), (["pump.flow=1 2 L/min"], 5, "not a range"),
    ],
)  # fmt: skip
def test_ranges_that_cannot_be_drawn_are_refused(over, steps, said):
    if said:
        with pytest.raises(Failure, match=said):
            _axes(read_plan(DEMO), {"over": over, "steps": steps})
    else:
        assert len(_axes(read_plan(DEMO), {"over": over, "steps": steps})["pump.flow"]) == steps
    if over and not said:
        both = [*over, "siphon.standpipe.height=300 to 400 mm"]
        assert len(_axes(read_plan(DEMO), {"over": both, "steps": steps})) == 2


def test_what_follows_from_an_answer_is_kept_when_asked(tmp_path, capsys):
    plan, out = data_dir() / "plans" / "one-bed.toml", tmp_path / "then.toml"
    assert main(["ask", "sump", str(plan), "--json"]) == 0
    changes = json.loads(capsys.readouterr().out)["changes"]
    assert main(["ask", "sump", str(plan), "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert f"Written: {out}" in said
    assert changes
    for path, change in changes.items():
        assert f"{path} " in said, path
        assert change["before"] != change["after"], path
    assert main(["ask", "sump", str(plan), "--out", str(out)]) == 2  # there already
    out.write_text("mine")
    assert main(["ask", "sump", str(plan), "--out", str(out), "--force"]) == 0
    assert "Add --out FILE.toml to keep it." not in capsys.readouterr().out
    assert read_plan(out) != read_plan(plan)


# Pages are written again over pages of ours, and over nothing else unless told


def _book(tmp_path):
    from nbformat import writes
    from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

    cells = [
        new_markdown_cell("# One"),
        new_code_cell("1"),
        new_code_cell(" "),
        new_code_cell("2", execution_count=1),
    ]
    path = tmp_path / "one.ipynb"
    path.write_text(writes(new_notebook(cells=cells)), encoding="utf-8")
    return path


@pytest.mark.parametrize("command", ["evidence", "handout", "handout --live", "live", "live lesson", "bench"])
def test_a_page_of_ours_is_written_again_and_no_other_without_force(tmp_path, monkeypatch, capsys, command):
    page = f'{MARK} 1">'
    monkeypatch.setattr("aquacalc.evidence.page.page", lambda: page)
    monkeypatch.setattr("aquacalc.teaching.handout.handout", lambda *args: page)
    monkeypatch.setattr("aquacalc.teaching.live_lesson.live_lesson", lambda *args: page)
    monkeypatch.setattr("aquacalc.live.page.live_page", lambda *args: page)
    monkeypatch.setattr("aquacalc.live.answer.answer", lambda *args: SimpleNamespace(verdict="works"))
    monkeypatch.setattr("aquacalc.bench.sheet.page", lambda test: page)
    book, out = str(_book(tmp_path)), tmp_path / "out.html"
    argv = {
        "evidence": ["evidence", "--out"], "handout": ["handout", book, "--out"],
        "handout --live": ["handout", book, "--live", "--out"], "live": ["live", str(DEMO), "--out"],
        "live lesson": ["live", book, "--out"], "bench": ["bench", str(DEMO), "--sheet"],
    }[command] + [str(out)]  # fmt: skip
    targets = [out, out.with_name("out-live.html")] if "--live" in argv else [out]
    for _ in range(2):
        assert main(argv) == 0
        for target in targets:
            assert target.read_text() == page, target
    said = capsys.readouterr().out
    assert said.count(str(out)) == 2
    assert ("! 1 cells have not been run" in said) == command.startswith("handout")
    for target in targets:
        target.write_text("theirs")
        assert main(argv) == 2
        assert target.read_text() == "theirs"
        assert "--force" in capsys.readouterr().err
        assert main([*argv, "--force"]) == 0
        assert target.read_text() == page


def test_what_is_said_before_jupyterlab_starts_is_on_the_screen_then(tmp_path, monkeypatch):
    """A pipe or a file is written by blocks: only what is flushed is there when JupyterLab begins."""
    seen = []
    out = tmp_path / "said"

    def opened(folder):
        seen.append(out.read_text(encoding="utf-8"))
        return 0

    monkeypatch.setattr(workbooks, "open_lab", opened)
    for name in workbooks.travelling():
        if name.endswith(".ipynb"):
            (tmp_path / name).write_text("mine")
    for folder in (tmp_path, tmp_path / "new"):
        with out.open("w", encoding="utf-8") as stream:
            monkeypatch.setattr("sys.stdout", stream)
            assert main(["workbooks", str(folder), "--open"]) == 0
    assert "stay as they are" in seen[0]
    assert seen[1].endswith("Copied.\n")
    early = []
    monkeypatch.setattr(
        workbooks, "write_folder", lambda *args: early.append(out.read_text(encoding="utf-8"))
    )
    with out.open("w", encoding="utf-8") as stream:
        monkeypatch.setattr("sys.stdout", stream)
        workbooks.copy({"a.ipynb": out, "b.csv": out, "c.csv": out}, tmp_path)
    assert early == [f"Copying 1 workbooks and 2 other files to {tmp_path} ...\n"]


def test_all_commands_are_named_in_the_help_and_one_loads_itself_alone(monkeypatch, capsys):
    from aquacalc import __main__ as door

    loaded, real = [], door.importlib.import_module
    monkeypatch.setattr(door.importlib, "import_module", lambda name: loaded.append(name) or real(name))
    with pytest.raises(SystemExit) as ended:
        main(["--help"])
    assert ended.value.code == 0
    said = capsys.readouterr().out
    for name in door.COMMANDS:
        assert re.search(rf"\n +{name}\s", said), name
    assert loaded == [f"aquacalc.commands.{name}" for name in door.COMMANDS]
    loaded.clear()
    assert main(["keys"]) == 0
    assert [name for name in loaded if name.startswith("aquacalc.commands.")] == ["aquacalc.commands.keys"]


# What is missing


@pytest.mark.parametrize(
    ("missing", "status", "said"),
    [
        ((), 0, ""), (("typst",), 0, "typst missing"), (("pint", "tomlkit"), 2, "pint, tomlkit missing"),
        (("numba",), 0, "numba missing"), (("jinja2", "pint"), 2, "jinja2 missing"),
    ],
)  # fmt: skip
def test_only_what_the_report_needs_is_a_failure(monkeypatch, capsys, missing, status, said):
    monkeypatch.setattr(check, "find_spec", lambda name: None if name in missing else object())
    assert main(["check"]) == status
    out = capsys.readouterr().out
    assert said in out
    assert ("compiled solver: " in out) == ("numba" not in missing)
    for extra, (purpose, names) in check.EXTRAS.items():
        lacks = set(names) & set(missing)
        assert (f"{purpose}: ready" in out) == (not lacks)
        if lacks:
            assert f'"aquacalc{f"[{extra}]" if extra else ""}"' in out


@pytest.mark.parametrize(
    ("name", "adds"),
    [("pint", "aquacalc"), ("markupsafe", "aquacalc[pages]"), ("typst", "aquacalc[build]"),
     ("x", "aquacalc[workbooks]")],
)  # fmt: skip
def test_a_missing_part_names_the_extra_that_adds_it(name, adds):
    assert check.adds(name).endswith(f'-m pip install "{adds}"')


# Two plans


def side(verdict, **parts):
    empty = {part: {} for part in ("Times", "Levels", "Findings", "Parts", "Cost")}
    return {"Verdict": {"verdict": verdict}, **empty, **parts}


@pytest.mark.parametrize("workshop", [False, True])
def test_two_plans_show_what_differs_and_what_only_one_has(monkeypatch, capsys, workshop):
    sides = iter([side("works", Times={"same": "1", "drains": "4 min", "gone": "x"}),
                  side("does not", Times={"same": "1", "drains": "5 min", "new": "y"})])  # fmt: skip
    monkeypatch.setattr(compare, "side_by_side", lambda plan, system, shop: next(sides))
    more = ["--workshop", str(data_dir() / "workshop-demo.toml")] if workshop else []
    assert main(["compare", str(DEMO), str(DEMO), *more]) == 1
    out = capsys.readouterr().out
    assert out.startswith("greenhouse and greenhouse\n")
    assert "greenhouse: it works.\ngreenhouse: it does not work.\n" in out
    assert "\nValues\n------\nno difference\n" in out
    assert "drains  4 min       5 min\n" in out
    assert "gone    x           -\n" in out
    assert "new     -           y\n" in out
    assert "same" not in out
    assert "Levels" not in out
    assert ("\nCost\n----\nno difference" in out) == workshop


# Answers


def answer(**more):
    limits = [SimpleNamespace(name="a", bound=math.inf, most=True, text=lambda kind, system: "none"),
              SimpleNamespace(name="b", bound=2.0, most=False, text=lambda kind, system: "2 m")]  # fmt: skip
    given = {
        "question": "Q?", "kind": "length", "exact": 1.0, "real": 2.0, "real_text": "2 m", "binding": "b",
        "conflict": "", "limits": limits, "steps": ("s",), "text": "Title\n- one\ntwo", "plan": "then",
        "system": "metric",
    }  # fmt: skip
    return SimpleNamespace(**(given | more))


def test_an_answers_limits_without_a_bound_have_no_number():
    told, follows = ask._told(None, None, answer(), {})
    assert follows == "then"
    assert (told.title, told.lines) == ("Title", ("- one", "two"))
    assert told.data["limits"] == [
        {"name": "a", "bound": None, "direction": "at most", "text": "none"},
        {"name": "b", "bound": 2.0, "direction": "at least", "text": "2 m"},
    ]
    assert (told.data["exact"], told.data["real"], told.data["steps"]) == (1.0, 2.0, ["s"])


@pytest.mark.parametrize(
    ("complete", "plan", "follows"), [(True, "new", "new"), (True, "old", None), (False, "new", None)]
)
def test_a_fit_that_was_stopped_or_changes_nothing_gives_no_plan(complete, plan, follows):
    found = SimpleNamespace(complete=complete, plan=plan, said=("one",))
    told, then = ask._told_said(SimpleNamespace(asks="Q?"), "old", found, {})
    assert (told.title, told.lines, then) == ("Q?", ("one",), follows)


def swept(verdicts, complete, planned, columns):
    import pandas as pd

    frame = pd.DataFrame(columns)
    frame["verdict"], frame["worst"] = verdicts, ["w" if v else None for v in verdicts]
    frame["reason"] = ["" if v else "too tall" for v in verdicts]
    frame.attrs.update(complete=complete, plans=planned)
    return frame


def test_a_map_of_one_value_is_a_table_and_says_when_it_was_stopped():
    asked, plan = SimpleNamespace(asks="Q?"), read_plan(DEMO)
    flows = [10 / 60e3, 20 / 60e3]
    values = {"values": {"pump.flow": flows}}
    told, follows = ask._told_map(asked, plan, swept(["works", None], True, 2, {"pump.flow": flows}), values)
    assert follows is None
    assert told.lines == ("Of 2 plans 1 work, 1 cannot be built.",)
    assert told.tables[0].rows == (
        ("10.0 L/min", "works", "w"),
        ("20.0 L/min", "cannot be built", "too tall"),
    )
    assert told.data["counts"] == {"works": 1, "cannot be built": 1}
    told, _ = ask._told_map(asked, plan, swept(["works"], False, 2, {"pump.flow": flows[:1]}), values)
    assert told.lines == ("Stopped early, with 1 of 2 plans run.", "Of 1 plans 1 work.")
    with pytest.raises(Failure, match="stopped before the first"):
        ask._told_map(asked, plan, swept([], False, 2, {"pump.flow": []}), values)


def test_a_map_of_two_values_has_the_second_one_upwards():
    asked, plan = SimpleNamespace(asks="Q?"), read_plan(DEMO)
    columns = {  # the first value changes slowest
        "pump.flow": [10 / 60e3, 10 / 60e3, 20 / 60e3, 20 / 60e3],
        "siphon.standpipe.height": [0.3, 0.4, 0.3, 0.4],
    }
    table = swept(["works", "may or may not", "does not", None], False, 9, columns)
    values = {"values": {"pump.flow": [10 / 60e3, 20 / 60e3], "siphon.standpipe.height": [0.3, 0.4]}}
    told, _ = ask._told_map(asked, plan, table, values)
    assert told.drawing[1:4] == (
        "siphon.standpipe.height up, pump.flow across", "400 mm  ? x", "300 mm  # .",
    )  # fmt: skip
    assert told.drawing[4] == "        10.0 L/min 20.0 L/min"
    assert not told.picture


def test_signs_and_readings_of_trouble_are_taken_together():
    seen = ask._seen({"seen": [" Stays WET "], "fill": 540.0, "top": ["bed 1 = 40 mm"], "left": ["a=b=3 cm"]})
    assert seen.signs == ("stays wet",)
    assert seen.readings == {
        ("fill", ""): 540.0,
        ("top", "bed 1"): 0.04,
        ("left", "a=b"): pytest.approx(0.03),
    }
    with pytest.raises(Failure, match="--top"):
        ask._seen({"top": ["bed=deep"]})


# The bench


@pytest.mark.parametrize(
    ("part", "said"), [(0.84, True), (0.86, False), (1.0, False), (1.14, False), (1.16, True)]
)
def test_a_flow_15_percent_off_what_was_asked_for_is_said_to_count_as_read(
    tmp_path, monkeypatch, capsys, part, said
):
    from aquacalc.bench.session import bench

    plan = tmp_path / "plan.toml"
    plan.write_bytes(DEMO.read_bytes())
    flow = part * bench(read_plan(plan)).next.flow
    typed = iter([f"{60e3 * flow:.6f} L/min", "s t", "q"])
    monkeypatch.setattr("builtins.input", lambda prompt: next(typed))
    assert main(["bench", str(plan)]) == 0
    out = capsys.readouterr().out
    assert ("It counts as" in out) == said
    assert "\nTrial 1. What does the jug say?" in out
    assert ("Stopped. 1 trial is kept" in out) == ("Enough" not in out)
    assert main(["bench", str(plan), "--read", "--json"]) == 0
    told = capsys.readouterr().out
    assert told.startswith('{\n "')
    assert len(json.loads(told)["trials"]) == 1


def test_lines_are_wrapped_and_drawings_are_not(capsys):
    from aquacalc.commands import bench

    words = " ".join(["word"] * 20)
    bench._say(["", words, "a   b" + "x" * 100, "---" + "y" * 100])
    assert capsys.readouterr().out.splitlines() == [
        "", " ".join(["word"] * 16), " ".join(["word"] * 4), "a   b" + "x" * 100, "---" + "y" * 100,
    ]  # fmt: skip
