"""Machine code on disk: never loaded when in doubt, and the answer comes whatever lies there."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import threading
import time
import types
from pathlib import Path

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.design.many_plans import run_plans
from aquacalc.engine import code_folder, compiled, runner
from aquacalc.engine.packing import pack
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan

pytestmark = pytest.mark.identity
NAMES = {"engine_1/run.1.nbc": b"machine code", "engine_1/run.nbi": b"its list"}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with code that is whole, in a home of its own."""
    monkeypatch.setattr(code_folder, "base", lambda: tmp_path / "aquacalc")
    folder = tmp_path / "aquacalc" / "0123456789abcdef"
    make(folder)
    assert code_folder.whole(folder)
    return folder


@pytest.fixture(scope="module")
def demo():
    return read_plan(data_dir() / "plans" / "greenhouse.toml")


def make(folder):
    with code_folder.place(folder) as place:
        for name, content in NAMES.items():
            (place / name).parent.mkdir(exist_ok=True)
            (place / name).write_bytes(content)
        code_folder.keep(place, folder)


def loaded_from(folder) -> dict[str, bytes]:
    """What numba would find."""
    with code_folder.place(folder) as place:
        return {
            p.relative_to(place).as_posix(): p.read_bytes()
            for p in place.rglob("*")
            if p.is_file() and p.name != code_folder.MARK
        }


CODE, LIST = NAMES


def linked(folder):
    folder.rename(folder.with_name("elsewhere"))
    folder.symlink_to(folder.with_name("elsewhere"))


def file_linked(folder):
    (folder / CODE).rename(folder.parent / "elsewhere")
    (folder / CODE).symlink_to(folder.parent / "elsewhere")


DAMAGE = {
    "a byte changed": lambda f: (f / CODE).write_bytes(b"machine c0de"),
    "cut short": lambda f: (f / CODE).write_bytes(b"machine"),
    "emptied by a power cut": lambda f: (f / LIST).write_bytes(b""),
    "a file gone": lambda f: (f / LIST).unlink(),
    "a file added": lambda f: (f / "engine_1" / "run.2.nbc").write_bytes(b"theirs"),
    "no mark": lambda f: (f / code_folder.MARK).unlink(),
    "a mark that is no JSON": lambda f: (f / code_folder.MARK).write_bytes(b"\xff\x00"),
    "a mark of another kind": lambda f: (f / code_folder.MARK).write_text("[1]"),
    "an old mark": lambda f: (f / code_folder.MARK).rename(f / "ready"),
    "a link to a folder": linked,
    "a link to a file": file_linked,
    "a folder others may write in": lambda f: f.chmod(0o777),
    "a folder the group may write in": lambda f: (f / "engine_1").chmod(0o770),
    "a file others may write": lambda f: (f / CODE).chmod(0o666),
    "a mark others may write": lambda f: (f / code_folder.MARK).chmod(0o602),
    "all of it open": lambda f: f.parent.chmod(0o777),
    "a place others may rename": lambda f: f.parent.parent.chmod(0o777),
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_damaged_or_open_code_is_not_loaded_and_is_made_anew(folder, damage):
    DAMAGE[damage](folder)
    assert not code_folder.whole(folder)
    assert loaded_from(folder) == {}
    make(folder)
    if damage == "a place others may rename":  # nothing is put there either
        assert not code_folder.whole(folder)
    else:
        assert code_folder.whole(folder)
        assert loaded_from(folder) == NAMES
        assert folder.parent.stat().st_mode & 0o777 == 0o700


def test_somebody_elses_code_is_neither_loaded_nor_touched(folder, monkeypatch):
    """A home that belongs to another: `sudo` keeps it, and so does a copied folder."""
    before = sorted(folder.parent.rglob("*"))
    monkeypatch.setattr(code_folder.os, "getuid", lambda: 4711)
    assert not code_folder.whole(folder)
    assert loaded_from(folder) == {}
    make(folder)
    assert sorted(folder.parent.rglob("*")) == before
    assert {name: (folder / name).read_bytes() for name in NAMES} == NAMES


def test_a_folder_that_was_open_to_others_is_emptied(folder):
    (folder.parent / "planted").mkdir()
    (folder.parent / "planted.nbi").write_text("theirs")
    folder.parent.chmod(0o777)
    make(folder)
    assert {path.name for path in folder.parent.iterdir()} == {folder.name}


def test_only_its_owner_may_read_it_whatever_the_umask(folder):
    before = os.umask(0)
    try:
        make(folder)
    finally:
        os.umask(before)
    assert code_folder.whole(folder)
    for path in (folder.parent, folder, *folder.rglob("*")):
        assert path.stat().st_mode & 0o077 == 0, path


def test_what_is_loaded_is_a_copy_that_nobody_else_can_reach(folder):
    with code_folder.place(folder) as place:
        (folder / CODE).write_bytes(b"theirs")
        assert (place / CODE).read_bytes() == NAMES[CODE]
        assert place.stat().st_mode & 0o777 == 0o700
    assert not place.exists()


@pytest.mark.parametrize("days", [-40, 40])  # ahead: the clock has been set back since
def test_old_ones_go(folder, days):
    def other(name, marked, age):
        path = folder.parent / name
        path.mkdir()
        at = path / code_folder.MARK if marked else path
        at.touch()
        os.utime(at, (time.time() - age * 86400.0,) * 2)

    other("unused", True, days)
    other("recent", True, days / 2)
    other("making-killed", False, days)
    other("making-now", False, 0)
    other("unused.turn", False, days)
    os.utime(folder / code_folder.MARK, (time.time() - days * 86400.0,) * 2)
    assert loaded_from(folder) == NAMES  # and it counts as used today
    assert abs((folder / code_folder.MARK).stat().st_mtime - time.time()) < 60.0
    make(folder)
    assert {path.name for path in folder.parent.iterdir()} == {folder.name, "recent", "making-now"}


def test_killed_while_compiling_the_next_start_makes_it(folder):
    code_folder.drop(folder)
    code = (
        "import sys, time; from pathlib import Path; from aquacalc.engine import code_folder\n"
        "folder = Path(sys.argv[1])\n"
        "with code_folder.turn(folder), code_folder.place(folder) as place:\n"
        "    (place / 'half').write_bytes(b'1'); print(1, flush=True); time.sleep(60)\n"
    )
    process = subprocess.Popen([sys.executable, "-c", code, str(folder)], stdout=subprocess.PIPE)
    process.stdout.readline()
    held = time.monotonic()
    threading.Timer(0.3, process.kill).start()
    with code_folder.turn(folder):  # waits for it, and no longer than it lives
        assert process.wait() < 0
        assert 0.2 < time.monotonic() - held < 30.0
    process.stdout.close()
    assert not code_folder.whole(folder)
    make(folder)
    assert loaded_from(folder) == NAMES


def test_a_process_that_hangs_is_not_waited_for_for_ever(folder, monkeypatch):
    with code_folder.turn(folder), code_folder.turn(folder.with_name("other")):  # what compiles another
        monkeypatch.setattr(code_folder, "PATIENCE", 0.0)
        with code_folder.turn(folder):
            make(folder)
    assert loaded_from(folder) == NAMES


@pytest.mark.parametrize("lock", ["left over", "link", "a system that has none"])
def test_a_lock_left_over_or_foreign_holds_nobody_up(folder, lock, tmp_path, monkeypatch):
    file = folder.with_suffix(".turn")
    if lock == "a system that has none":
        monkeypatch.setattr(code_folder, "fcntl", None)
    elif lock == "link":
        (tmp_path / "theirs").write_text("theirs")
        file.symlink_to(tmp_path / "theirs")
    else:
        file.touch()
        os.utime(file, (time.time() + 86400.0,) * 2)
    with code_folder.turn(folder):
        make(folder)
    assert loaded_from(folder) == NAMES


@pytest.fixture
def no_code(tmp_path, monkeypatch):
    """A process without machine code; `made` says from what each of its kernels came."""
    made = []

    def with_code(place):
        made.append(sorted(p.name for p in place.rglob("*.nb?")) if place else None)
        if place and not made[-1]:
            (place / "run.nbi").write_bytes(b"code")
        hits = {"run": 1} if made[-1] else {}
        return types.SimpleNamespace(run=types.SimpleNamespace(stats=types.SimpleNamespace(cache_hits=hits)))

    monkeypatch.setattr(code_folder, "base", lambda: tmp_path / "aquacalc")
    code_folder.folder_for.cache_clear()
    monkeypatch.setattr(compiled, "_kernels", None)
    monkeypatch.setattr(compiled, "_given_up", False)
    monkeypatch.setattr(compiled, "_with_code", with_code)
    yield made
    code_folder.folder_for.cache_clear()


def build_again() -> bool:
    compiled._kernels = None
    return compiled.build()


def test_what_was_compiled_is_loaded_next_time(no_code):
    assert compiled.build()
    assert compiled.ready()
    assert build_again()
    assert no_code == [[], ["run.nbi"]]


def test_a_home_that_cannot_be_written_still_has_the_answer(no_code, tmp_path):
    (tmp_path / "aquacalc").write_text("no folder")
    assert compiled.build()
    assert build_again()
    assert no_code == [[], []]
    assert (tmp_path / "aquacalc").read_text() == "no folder"


def test_a_full_disk_still_has_the_answer(no_code, monkeypatch):
    real = compiled._with_code

    def full(place):
        if place:
            raise OSError(28, "No space left on device")
        return real(place)

    monkeypatch.setattr(compiled, "_with_code", full)
    assert compiled.build()
    assert no_code == [None]
    assert not compiled.ready()


def test_code_that_cannot_be_read_though_whole_is_made_anew(no_code, monkeypatch):
    assert compiled.build()
    real = compiled._with_code

    def unreadable(place):
        if place and any(place.rglob("*.nbi")):
            raise EOFError("Ran out of input")
        return real(place)

    monkeypatch.setattr(compiled, "_with_code", unreadable)
    assert build_again()
    assert not compiled.ready()
    assert build_again()
    assert compiled.ready()


def test_code_of_another_processor_is_compiled_here_and_kept(no_code, monkeypatch):
    assert compiled.build()
    mark = (compiled.folder() / code_folder.MARK).read_text()
    real = compiled._with_code

    def other(place):
        (place / "run.2.nbc").write_bytes(b"for this one")
        kernels = real(place)
        kernels.run.stats.cache_hits = {}
        return kernels

    monkeypatch.setattr(compiled, "_with_code", other)
    assert build_again()
    assert compiled.ready()
    assert (compiled.folder() / code_folder.MARK).read_text() != mark


def test_an_edit_a_touch_and_another_numba_have_other_folders(tmp_path, monkeypatch):
    source = tmp_path / "kernels_of_a_test.py"
    source.write_text("a = 1\n")
    monkeypatch.syspath_prepend(tmp_path)

    def now():
        code_folder.folder_for.cache_clear()
        return code_folder.folder_for(("kernels_of_a_test",)).name

    seen = [now(), now()]
    assert seen[0] == seen[1]
    source.write_text("a = 2\n")
    seen.append(now())
    os.utime(source, (1e9, 1e9))
    seen.append(now())
    monkeypatch.setattr(code_folder, "version", lambda name: "99")
    seen.append(now())
    monkeypatch.setattr(code_folder, "_processor", lambda: "another")
    seen.append(now())
    code_folder.folder_for.cache_clear()
    assert len(set(seen)) == 5


def test_without_numba_every_way_of_running_goes_through_the_interpreter(no_code, demo, monkeypatch):
    def missing(place):
        raise ModuleNotFoundError("No module named 'numba'", name="numba")

    monkeypatch.setattr(compiled, "_with_code", missing)
    monkeypatch.setattr(runner, "FEW", 0)
    assert not runner.compile_now()
    one = run_plan(demo, trace=False)
    assert run_plans([demo])[0].groups == one.groups


def test_where_no_process_can_be_started_the_interpreter_serves(no_code, demo, monkeypatch):
    def refused(*args, **options):
        raise PermissionError("no processes here")

    monkeypatch.setattr(runner, "_builder", None)
    monkeypatch.setattr(runner.subprocess, "Popen", refused)
    monkeypatch.setattr(runner, "FEW", 0)
    runner.compile_aside()
    assert not runner.compiling()
    assert run_plan(demo, trace=False).groups[0].outcome == "cycles"
    assert no_code == []  # and nothing is compiled behind the reader's back


def test_what_is_called_has_the_types_that_were_compiled(demo):
    """A call of any other types would compile everything again, in the middle of the reader's work."""
    if not compiled.build():
        pytest.skip("no numba")
    compiled.run(pack(demo), 10)
    assert len(compiled._kernels.run.signatures) == 1
    kept = compiled.folder()
    with contextlib.suppress(FileNotFoundError):
        noted = json.loads((kept / code_folder.MARK).read_text())
        assert len([name for name in noted if name.endswith(".nbc")]) == 1


def test_only_the_outermost_kernel_is_kept_and_nothing_without_a_folder(tmp_path):
    without, kept = compiled._jitted(None), compiled._jitted(tmp_path)
    assert without.run.stats.cache_path is None
    assert Path(kept.run.stats.cache_path).is_relative_to(tmp_path)
    assert [name for name, kernel in vars(kept).items() if kernel.stats.cache_path is not None] == ["run"]


@pytest.mark.parametrize(("nodes", "counts"), [(1, 1), (6, 1), (9, 1), (10, 2), (52, 10)])
def test_a_run_counts_by_the_number_of_its_beds(monkeypatch, nodes, counts):
    """After a few runs machine code is loaded: five beds more are worth a run more."""
    monkeypatch.setattr(runner, "_asked", 3)
    monkeypatch.setattr(runner, "_compiled_wanted", lambda: True)
    monkeypatch.setattr(runner.compiled, "run", lambda plan, rows: rows)
    assert runner.run_packed(types.SimpleNamespace(nodes=nodes), trace=False) == 0
    assert runner.run_packed(types.SimpleNamespace(nodes=nodes)) == runner.TRACE_ROWS
    assert runner._asked == 3 + 2 * counts
