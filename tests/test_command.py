"""The command line: exit status, one clear error, and files left alone."""

import json
import os
import re
import subprocess
import sys
import tomllib
import types
from pathlib import Path

import pytest

from aquacalc import __main__ as main_module
from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir
from aquacalc.commands import check, keys, plans
from aquacalc.engine import compiled
from aquacalc.failure import Failure
from aquacalc.files import MARK, is_ours

pytestmark = pytest.mark.identity
ROOT = Path(__file__).parents[1]
PLANS = data_dir() / "plans"
DEMO = PLANS / "greenhouse.toml"
TEXT = DEMO.read_text(encoding="utf-8")
PAGE = f'<!doctype html>\n<html><head>{MARK} 0.1.0"></head></html>\n'

#: What is wrong: (text in the demo plan, what stands there instead, key, value, part of the fix).
BAD = {
    "wrong unit": ('length = "1.2 m"', 'length = "1.2 L"', "bed.bed 1.length", '"1.2 L"', "with its unit"),
    "no unit": ('length = "1.2 m"', "length = 1.2", "bed.bed 1.length", "1.2", "with its unit"),
    "missing key": ('width = "500 mm"\n', "", "bed.bed 1.width", "", "add width"),
    "misspelt key": ("media_depth", "media_dept", "bed.bed 1.media_dept", "270 mm", "media_depth"),
    "unknown pipe": ('"1-1/2 in"', '"1-3/8 in"', "run.bed 1.size", "1-3/8 in", "1-1/2 in"),
    "run to nowhere": ('to = "tee 2"', 'to = "tee 9"', "run.bed 1.to", "tee 9", "tee 2"),
    "loop": ('to = "chamber"', 'to = "bed 1"', "run", "", ""),
    "lip above the bed": ('height = "430 mm"', 'height = "510 mm"', "siphon", "510 mm", ""),
    "bell below its standpipe": ('"465 mm"', '"425 mm"', "siphon.siphon.bell.top_height", "425 mm", "bell"),
    "zero": ('depth = "300 mm"', 'depth = "0 mm"', "bed.bed 1.depth", "0 mm", "above 0"),
    "negative": ('"18 L/min"', '"-18 L/min"', "pump.flow", "-18 L/min", ""),
    "not a number": ('"18 L/min"', '"nan L/min"', "pump.flow", "nan L/min", ""),
    "not toml": ("[pump]", "[pump", "line", "[pump", "key"),
}  # fmt: skip


def spoilt(tmp_path, name):
    old, new, *_ = BAD[name]
    assert old in TEXT
    path = tmp_path / "plan.toml"
    path.write_text(TEXT.replace(old, new, 1), encoding="utf-8")
    return path


def refused(capsys, argv, *parts):
    """The command fails with one paragraph on standard error, a line for each fault, that has every part."""
    assert main([str(a) for a in argv]) == 2
    out, err = capsys.readouterr()
    if "--json" in argv and out:
        assert json.loads(out)["faults"], out
    else:
        assert out == ""
    assert err.startswith("aquacalc: ")
    several = re.search(r": (\d+) faults\n", err)
    assert err.count("\n") == (1 + int(several[1]) if several else 1)
    assert "Traceback" not in err
    assert err.count("Fix: ") == (int(several[1]) if several else 1)
    for part in parts:
        assert part in err, (part, err)
    return err


def run(*argv, **keywords):
    command = [sys.executable, "-m", "aquacalc", *map(str, argv)]
    return subprocess.run(command, capture_output=True, timeout=120, check=False, **keywords)


@pytest.fixture
def page(monkeypatch):
    """Stands in for the page's own module, which is tested by itself."""
    fake = types.SimpleNamespace(page=lambda report, *more: PAGE)
    monkeypatch.setitem(sys.modules, "aquacalc.report.html", fake)
    sliders = types.SimpleNamespace(
        SCRIPTS=(), SYSTEMS=(), live_plan=lambda *given, **more: "", switched=lambda parts, units: ""
    )
    monkeypatch.setitem(sys.modules, "aquacalc.live.page", sliders)
    return fake


@pytest.mark.parametrize(
    ("name", "status"),
    [
        ("greenhouse", 0),
        ("spills-without-starting", 1),
        ("runs-on-without-stopping", 1),
        ("sump-overflows", 1),
    ],
)
def test_exit_status_says_whether_the_plan_works(capsys, monkeypatch, name, status):
    monkeypatch.setattr(plans, "PATIENCE", 1e6)  # a busy machine may take longer, and would say so
    assert main(["report", str(PLANS / f"{name}.toml")]) == status
    out, err = capsys.readouterr()
    assert err == ""
    assert ("This plan works." in out) == (status == 0)
    assert ("This plan does not work: " in out) == (status == 1)


@pytest.fixture
def uncertain(tmp_path):
    """The demo plan with 9.4 L/min, in the middle of the band in which its siphon may start."""
    path = tmp_path / "uncertain.toml"
    path.write_text(TEXT.replace('"18 L/min"', '"9.4 L/min"'), encoding="utf-8")
    return path


@pytest.mark.parametrize("more", [(), ("--json",), ("--html", "page.html")])
def test_a_plan_that_may_or_may_not_work_ends_with_three(capsys, monkeypatch, uncertain, page, more):
    monkeypatch.chdir(uncertain.parent)
    assert main(["report", str(uncertain), *more]) == 3
    assert "may or may not" in capsys.readouterr().out


def test_json_is_printed_and_nothing_else(capsys, monkeypatch):
    monkeypatch.setattr(plans, "PATIENCE", 600.0)  # a busy machine may be slow
    assert main(["report", str(PLANS / "sump-overflows.toml"), "--json"]) == 1
    out, err = capsys.readouterr()
    assert err == ""
    assert json.loads(out)["verdict"] == "does not"


@pytest.mark.parametrize("name", BAD)
def test_a_plan_that_cannot_be_read_is_one_clear_error(capsys, tmp_path, page, name):
    _, _, key, value, fix = BAD[name]
    path, target = spoilt(tmp_path, name), tmp_path / "report.html"
    refused(capsys, ["report", path], str(path), key, value, fix)
    refused(capsys, ["report", path, "--json"], key)
    refused(capsys, ["report", path, "--html", target], key)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["plan.toml"]


@pytest.mark.parametrize("name", ["wrong unit", "loop"])
def test_a_page_that_is_there_stays_as_it_is(capsys, tmp_path, page, name):
    path, target = spoilt(tmp_path, name), tmp_path / "report.html"
    target.write_text(PAGE)
    os.utime(target, (1e9, 1e9))
    refused(capsys, ["report", path, "--html", target, "--force"])
    assert target.read_text() == PAGE
    assert target.stat().st_mtime == 1e9


def test_other_files_are_no_plans(capsys, tmp_path):
    big, binary, latin, empty = (
        tmp_path / n for n in ("big.toml", "binary.toml", "latin.toml", "empty.toml")
    )
    big.write_bytes(b"# padding\n" * 1_000_000)
    binary.write_bytes(bytes(range(256)) * 64)
    latin.write_bytes(TEXT.replace("School", "Schöne").encode("latin-1"))
    empty.write_text("")
    refused(capsys, ["report", big], "big.toml", "1 MB")
    refused(capsys, ["report", binary], "binary.toml", "UTF-8")
    refused(capsys, ["report", latin], "latin.toml", "UTF-8")
    refused(capsys, ["report", empty], "empty.toml", "plan")
    refused(capsys, ["report", tmp_path], "folder")
    refused(capsys, ["report", tmp_path / "none.toml"], "no such file")


def test_numbers_beyond_arithmetic_are_an_error_and_not_a_traceback(capsys, monkeypatch):
    from aquacalc.report import content

    def fail(plan, runs):
        raise ZeroDivisionError("float division by zero")

    monkeypatch.setattr(content, "build_report", fail)
    refused(capsys, ["report", DEMO], "greenhouse.toml", "cannot be worked out")


def test_page_is_written_and_written_again(capsys, tmp_path, page):
    target = tmp_path / "report.html"
    for _ in range(2):
        assert main(["report", str(DEMO), "--html", str(target)]) == 0
        assert target.read_text() == PAGE
        out, err = capsys.readouterr()
        assert out == f"This plan works. Page written: {target}\n"
        assert err == ""
    assert [p.name for p in tmp_path.iterdir()] == ["report.html"]
    assert target.stat().st_mode & 0o777 == 0o666 & ~_umask()


def _umask():
    mask = os.umask(0)
    os.umask(mask)
    return mask


def test_the_real_page_carries_the_mark(tmp_path):
    target = tmp_path / "report.html"
    assert main(["report", str(DEMO), "--html", str(target)]) == 0
    assert is_ours(target)
    assert target.read_text(encoding="utf-8").rstrip().endswith("</html>")


def test_page_beside_json_keeps_the_json_clean(capsys, tmp_path, page):
    assert main(["report", str(DEMO), "--json", "--html", str(tmp_path / "r.html")]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["verdict"] == "works"
    assert "Page written" in err


def test_a_page_replaces_no_other_file(capsys, tmp_path, page):
    plan, other = tmp_path / "plan.toml", tmp_path / "notes.html"
    plan.write_text(TEXT)
    other.write_text("<p>my notes</p>")
    refused(capsys, ["report", plan, "--html", other], "notes.html", "--force")
    assert other.read_text() == "<p>my notes</p>"
    refused(capsys, ["report", plan, "--html", plan, "--force"], "is what it is made from")
    assert plan.read_text() == TEXT
    refused(capsys, ["report", plan, "--html", tmp_path], "is a folder")
    refused(capsys, ["report", plan, "--html", tmp_path / "no" / "r.html"], "no folder")
    refused(capsys, ["report", plan, "--html", "/dev/null"], "not an ordinary file")
    assert main(["report", str(plan), "--html", str(other), "--force"]) == 0
    assert other.read_text() == PAGE


def test_a_failing_page_leaves_nothing(capsys, tmp_path, page, monkeypatch):
    target = tmp_path / "report.html"
    target.write_text(PAGE + "old")

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    refused(capsys, ["report", DEMO, "--html", target], "No space left")
    monkeypatch.undo()
    assert target.read_text() == PAGE + "old"
    assert [p.name for p in tmp_path.iterdir()] == ["report.html"]


def test_keys_are_the_documents_in_data(capsys):
    for argv, name in ((["keys"], "plan-keys.md"), (["keys", "--report"], "report-shape.md")):
        assert main(argv) == 0
        assert capsys.readouterr().out == (data_dir() / name).read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("argv", "part"),
    [
        ([], "COMMAND. Fix: see python -m aquacalc --help"),
        (["raport"], "'raport'"),
        (["report"], "PLAN.toml"),
        (["report", DEMO, "--colour"], "--colour"),
        (
            ["keys", "a", "b"],
            "aquacalc: unrecognized arguments: a b. Fix: see python -m aquacalc keys --help",
        ),
        (["evidence", "a"], "--out"),
        (["build", DEMO, "--out"], "expected one argument"),
        (["bench", DEMO, "--read", "--trials", "x"], "not allowed"),
        (["workbooks", "a", "\x1b[31m\n\u202eb"], "arguments:  [31m  b. Fix"),
    ],
)
def test_wrong_arguments(capsys, argv, part):
    assert refused(capsys, argv, part).replace("\n", "").isprintable()


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ("....=1", '"....": "" is not a table of a plan'),
        ("bedd.x=1", 'did you mean "bed"?'),
        ("bed=1", "write bed.NAME.KEY"),
        ("pump=1", "write pump.KEY"),
        ("bed.bed 9.depth=1 m", 'there is no bed "bed 9"'),
        ("bed.bed 1.=3", '"" is not a key of bed'),
        ("siphon.belll.bore=1 mm", '"siphon.bell"'),
        ("sump.x.y=3", "write sump.KEY"),
        ("siphon.standpipe=3", '"standpipe" is not a key of siphon'),
        ("bed.*.strainer=none", "is a whole table"),
        ("bed.bed 1.length=", "does not begin with a number"),
        ("bed.*.media=bananas", '"bananas" is not in the tables'),
        ("plan.name= ", "plan.name: is empty"),
        ("pump.fl\x1b[31mow=3", "is not a change"),
        ('pump.flow="16 L/min"\nfoo=3', "is not a change"),
        ("=", "is not a change"),
    ],
)
def test_a_change_that_cannot_be_made_says_what_to_write(capsys, change, part):
    """By key, name, value and characters; the second of two lines was once left out unsaid."""
    assert refused(capsys, ["report", DEMO, "--set", change], part).replace("\n", "").isprintable()


@pytest.mark.parametrize(
    "argv",
    [
        ["report", "/no\x1b[31m\nwhere.toml"],
        ["report", DEMO, "--html", "/no\x1b[31m\nwhere/page.html"],
        ["ask", "map", DEMO, "--over", "pum\x1b[31m=1 to 2"],
        ["bench", DEMO, "--siphon", "a\u202eb"],
    ],
)
def test_a_name_that_is_typed_cannot_turn_the_terminal(capsys, argv):
    """Control characters were printed as they came in what is refused of a file, a key or a part."""
    assert refused(capsys, argv).replace("\n", "").isprintable()


@pytest.mark.parametrize(
    ("raised", "part"),
    [
        (OSError(28, "No space left on device", "/x/y"), "/x/y: No space left on device. Fix: check the"),
        (OSError("odd"), "aquacalc: odd. Fix: check the name"),
        (MemoryError(), "not enough memory for this. Fix: try a smaller plan"),
        (RecursionError("deep\ndown"), "a fault of the program itself (RecursionError: deep). Fix: send"),
        (ModuleNotFoundError("no", name="pandas"), '"pandas", which is not installed. Fix: '),
    ],
)
def test_whatever_happens_is_one_line(capsys, monkeypatch, raised, part):
    def fails(args):
        raise raised

    monkeypatch.setattr(keys, "run", fails)
    refused(capsys, ["keys"], part)


def unasked(said: bytes) -> bytes:
    """What was said, but that it takes a while, which hangs on the machine."""
    return said.replace(b"working it out; Ctrl-C stops ...\n", b"")


def test_a_process_of_its_own_in_a_plain_locale():
    done = run(
        "report", DEMO, env={**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}
    )
    assert done.returncode == 0
    assert unasked(done.stderr) == b""
    assert "cm²" in done.stdout.decode("utf-8")
    failed = run("report", "none.toml")
    assert failed.returncode == 2
    assert failed.stderr.decode().startswith("aquacalc: none.toml")


def test_a_reader_that_goes_away_is_no_error():
    command = f"{sys.executable} -m aquacalc report {DEMO} | head -1; echo ${{PIPESTATUS[0]}}"
    done = subprocess.run(["bash", "-c", command], capture_output=True, timeout=120, check=True)
    assert unasked(done.stderr) == b""
    assert done.stdout.splitlines()[0] == b"School greenhouse herbs"
    assert done.stdout.splitlines()[-1] in (b"0", b"141")  # it may have been quick enough


@pytest.mark.parametrize("name", ["greenhouse", "sump-overflows"])  # nothing to advise, and four runs for it
def test_text_loads_nothing_heavy(name):
    code = (
        "import sys; from aquacalc.__main__ import main; main(sys.argv[1:]); "
        "print(sorted({m.partition('.')[0] for m in sys.modules}), file=sys.stderr)"
    )
    command = [sys.executable, "-c", code, "report", str(PLANS / f"{name}.toml")]
    done = subprocess.run(command, capture_output=True, timeout=120, check=True)
    loaded = set(json.loads(done.stderr.decode().splitlines()[-1].replace("'", '"')))  # it may be slow
    heavy = {"sympy", "matplotlib", "pandas", "scipy", "numba", "numpy", "pint", "IPython", "jsonschema"}
    assert not loaded & heavy
    assert "aquacalc" in loaded


@pytest.mark.parametrize("still", [True, False])
def test_a_page_needs_two_small_packages(tmp_path, still):
    without = ["numpy", "matplotlib", "sympy", *(["pint", "tomlkit"] if still else [])]
    code = (
        f"import sys; sys.modules.update(dict.fromkeys({without}));"
        "from aquacalc.__main__ import main; sys.exit(main(sys.argv[1:]))"
    )
    command = [sys.executable, "-c", code, "report", str(DEMO), "--html", str(tmp_path / "page.html")]
    done = subprocess.run([*command, *["--still"] * still], capture_output=True, text=True, timeout=120)
    assert (done.returncode, unasked(done.stderr.encode())) == (0, b"")


@pytest.mark.identity
def test_check_knows_what_the_project_file_says():
    """Every part of an extra is looked for, under the name it is imported by; and a missing one is said."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    listed = {"": project["dependencies"], **project["optional-dependencies"]}
    for extra, (_, names) in check.EXTRAS.items():
        asked = {re.match(r"[\w-]+", line)[0].lower() for line in listed[extra]} - {"aquacalc"}
        assert {name.lower() for name in names} == asked, extra


@pytest.mark.identity
def test_what_is_missing_is_one_sentence_with_the_command_that_adds_it(tmp_path, monkeypatch, capsys):
    real = check.find_spec
    monkeypatch.setattr(check, "find_spec", lambda name: None if name in ("typst", "numba") else real(name))
    assert main(["check"]) == 0
    said = capsys.readouterr().out
    assert f'typst missing. Fix: {sys.executable} -m pip install "aquacalc[build]"\n' in said
    assert f'numba missing. Fix: {sys.executable} -m pip install "aquacalc[workbooks]"\n' in said
    assert "report --html, live: ready" in said
    assert check.adds("markupsafe").endswith('"aquacalc[pages]"')  # comes with jinja2
    code = (
        "import sys; sys.modules['jinja2'] = None; from aquacalc.__main__ import main;"
        "sys.exit(main(sys.argv[1:]))"
    )
    command = [sys.executable, "-c", code, "report", str(DEMO), "--html", str(tmp_path / "never.html")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1] == (  # before it, on a slow machine, that it takes a while
        'aquacalc: this needs "jinja2", which is not installed. '
        f'Fix: {sys.executable} -m pip install "aquacalc[pages]"'
    )
    assert not (tmp_path / "never.html").exists()


@pytest.mark.parametrize(
    ("fault", "status", "said"),
    [
        (KeyboardInterrupt(), 130, "stopped; no unfinished file is left behind"),
        (KeyboardInterrupt("kept"), 130, "kept"),
        (Failure("no"), 2, "no"),
        (ModuleNotFoundError("x", name="scipy.optimize"), 2, 'this needs "scipy", which is not installed'),
        (ModuleNotFoundError("x"), 2, 'this needs "a part", which is not installed'),
        (OSError(28, "No space left on device", "a.html"), 2, "a.html: No space left on device. Fix: "),
        (OSError("odd"), 2, "odd. Fix: "),
        (MemoryError(), 2, "there is not enough memory"),
        (RuntimeError("one\ntwo"), 2, "a fault of the program itself (RuntimeError: one). Fix: "),
        (RuntimeError("x" * 500), 2, f"a fault of the program itself (RuntimeError: {'x' * 186}). Fix: "),
    ],
)
def test_whatever_ends_a_command_has_its_status_and_one_line(fault, status, said, monkeypatch, capsys):
    """130 for Ctrl-C is 128 and the number of the signal, as shells have it; 2 for all that went wrong."""
    monkeypatch.setattr("aquacalc.commands.report.load", _raising(fault))
    assert main(["report", str(DEMO)]) == status
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert err.startswith(f"aquacalc: {said}")
    assert "x" * 187 not in err


def _raising(fault):
    def ends(*args, **keywords):
        raise fault

    return ends


def test_a_reader_that_went_away_ends_it_as_a_pipe_does(monkeypatch):
    """141 is 128 and the number of SIGPIPE; what is left to write goes nowhere."""
    moved = []
    monkeypatch.setattr("aquacalc.commands.report.load", _raising(BrokenPipeError()))
    monkeypatch.setattr(os, "dup2", lambda *ends: moved.append(ends))
    monkeypatch.setattr(os, "open", lambda name, flags: (name, flags))
    monkeypatch.setattr(sys, "stdout", types.SimpleNamespace(fileno=lambda: 71, flush=lambda: None))
    assert main(["report", str(DEMO)]) == 141
    assert moved == [((os.devnull, os.O_WRONLY), 71)]


@pytest.mark.parametrize("lacks", ["", "pint", "jinja2", "numba"])
@pytest.mark.parametrize("ready", [True, False])
def test_check_ends_with_2_only_when_the_report_lacks_something(lacks, ready, monkeypatch, capsys):
    monkeypatch.setattr(check, "find_spec", lambda name: None if name == lacks else name)
    monkeypatch.setattr(compiled, "ready", lambda: ready)
    assert main(["check"]) == (2 if lacks == "pint" else 0)
    said = capsys.readouterr().out
    assert said.count(" missing. Fix: ") == bool(lacks)
    assert said.count(": ready\n") == len(check.EXTRAS) - bool(lacks) + (ready and lacks != "numba")
    assert ("compiled solver: " in said) == (lacks != "numba")
    assert ("made by the first workbook" in said) == (not ready and lacks != "numba")


@pytest.mark.parametrize("total", [0, 40])
def test_long_work_says_how_far_it_is_every_four_seconds(total, monkeypatch):
    """Twice the patience after which it says that it takes a while; before that nothing."""
    now, said = [100.0], []
    monkeypatch.setattr(plans, "_say", said.append)
    monkeypatch.setattr(plans.time, "monotonic", lambda: now[0])
    waiting = plans._Waiting()
    waiting.timer.cancel()
    for done, after in enumerate((1.0, 3.99, 4.0, 7.99, 8.01, 20.0)):
        now[0] = 100.0 + after * plans.PATIENCE / 2.0
        waiting(done, total)
    of = " of 40" if total else ""
    assert said == [f"  {done}{of} plans run" for done in (2, 4, 5)]


def test_only_the_command_that_is_named_is_loaded_and_help_names_all(monkeypatch, capsys):
    loaded = []
    real = main_module.importlib.import_module
    monkeypatch.setattr(
        main_module.importlib,
        "import_module",
        lambda name: loaded.append(name.rpartition(".")[2]) or real(name),
    )
    assert main_module._parsed(["report", "x.toml"]).run.__module__ == "aquacalc.commands.report"
    assert loaded == ["report"]
    with pytest.raises(SystemExit):
        main_module._parsed(["--help"])
    assert loaded[1:] == list(main_module.COMMANDS)
    said = capsys.readouterr().out
    for name in main_module.COMMANDS:
        assert re.search(rf"^    {name}\b", said, re.M), name
