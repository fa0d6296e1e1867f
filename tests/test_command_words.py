"""What commands say and wait for, by hand: columns, pages, patience, JupyterLab, ranges."""

import json
import os
import socket
import subprocess
from types import SimpleNamespace

import pytest

from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir
from aquacalc.commands import plans, start, workbooks
from aquacalc.commands.ask import _axes
from aquacalc.commands.told import Table, Told, tell
from aquacalc.design import closest
from aquacalc.failure import Failure
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
