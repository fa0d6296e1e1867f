"""The one writer: whole or untouched, and over nothing that is not meant."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from aquacalc import files
from aquacalc.failure import AlreadyThere, NotWritten
from aquacalc.files import MARK, write_file, write_folder

pytestmark = pytest.mark.identity
OURS = f'<!DOCTYPE html>\n<head>{MARK} 0.1.0"></head>\n'
THREE = {"cuts.csv": b"a,b\n", "page.html": OURS, "drawings/plan.svg": b"<svg/>"}


def everything(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_a_file_appears_with_its_content_and_the_users_own_rights(tmp_path):
    path = write_file(tmp_path / "plan.toml", "höhe = 1\n")
    assert path.read_text(encoding="utf-8") == "höhe = 1\n"
    assert path.stat().st_mode & 0o777 == 0o666 & ~files._umask()
    assert everything(tmp_path).keys() == {"plan.toml"}


@pytest.mark.parametrize("ours", [False, True])
def test_what_is_there_stays_unless_told(tmp_path, ours):
    path = tmp_path / "notes.html"
    path.write_text("my own work")
    with pytest.raises(AlreadyThere, match=r"notes\.html.*Fix: .*--force"):
        write_file(path, "new", ours=ours)
    assert path.read_text() == "my own work"
    write_file(path, "new", ours=ours, force=True)
    assert path.read_text() == "new"


def test_a_page_of_ours_is_replaced_and_keeps_its_rights(tmp_path):
    path = tmp_path / "report.html"
    path.write_text(OURS)
    path.chmod(0o600)
    write_file(path, OURS + "new", ours=True)
    assert path.read_text() == OURS + "new"
    assert path.stat().st_mode & 0o777 == 0o600


def link(tmp_path):
    (tmp_path / "theirs").write_text("theirs")
    (tmp_path / "target").symlink_to(tmp_path / "theirs")


def dangling(tmp_path):
    (tmp_path / "target").symlink_to(tmp_path / "not-there")


def pipe(tmp_path):
    os.mkfifo(tmp_path / "target")


def folder(tmp_path):
    (tmp_path / "target").mkdir()


@pytest.mark.parametrize("made", [link, dangling, pipe, folder])
@pytest.mark.parametrize("force", [False, True])
def test_links_pipes_and_folders_are_no_target(tmp_path, made, force):
    made(tmp_path)
    with pytest.raises(NotWritten, match=r"target: is .*Fix: "):
        write_file(tmp_path / "target", "new", force=force)
    if made is link:
        assert (tmp_path / "theirs").read_text() == "theirs"
    assert not (tmp_path / "not-there").exists()


def test_a_device_is_no_target():
    with pytest.raises(NotWritten, match="not an ordinary file"):
        write_file("/dev/null", "new", force=True)


def test_the_plan_itself_is_never_replaced(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text("plan")
    (tmp_path / "other").symlink_to(tmp_path)
    with pytest.raises(NotWritten, match="made from"):
        write_file(tmp_path / "other" / "plan.toml", "new", source=path, force=True)
    assert path.read_text() == "plan"


@pytest.mark.parametrize("name", ["no-folder/plan.toml", "n" * 300, "nul\0"])
def test_a_place_that_cannot_be_is_one_line(tmp_path, name):
    with pytest.raises(NotWritten, match="Fix: ") as caught:
        write_file(tmp_path / name, "new")
    assert "\n" not in str(caught.value)
    assert everything(tmp_path) == {}


def test_a_target_is_refused_before_any_work(tmp_path, monkeypatch):
    """Of `build` and whatever asks first; root may write everywhere, so rights are taken here by hand."""
    (tmp_path / "sheet").mkdir()
    (tmp_path / "sheet" / "cuts.csv").write_text("mine")
    with pytest.raises(AlreadyThere, match="there already"):
        files.check_folder(tmp_path / "sheet", THREE)
    assert files.check_folder(tmp_path / "sheet", THREE, force=True)
    assert files.check_folder(tmp_path / "new" / "sheet", THREE)
    assert not (tmp_path / "new").exists()
    monkeypatch.setattr(files.os, "access", lambda path, how: False)
    for check in (lambda: files.check_folder(tmp_path / "new" / "sheet", THREE),
                  lambda: files.check_target(tmp_path / "plan.toml")):  # fmt: skip
        with pytest.raises(NotWritten, match="Permission denied"):
            check()


def test_a_full_disk_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "plan.toml"
    path.write_text("old")

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(NotWritten, match="No space left on device"):
        write_file(path, "new", force=True)
    with pytest.raises(NotWritten, match="No space left on device"):
        write_folder(tmp_path / "sheet", THREE)
    assert everything(tmp_path) == {"plan.toml": b"old"}
    assert not (tmp_path / "sheet").exists()


def test_a_disk_without_hard_links_gets_its_file_and_keeps_what_is_there(tmp_path, monkeypatch):
    def none(part, target):
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(files.os, "link", none)
    write_file(tmp_path / "plan.toml", "new")
    with pytest.raises(AlreadyThere):
        files._appear(tmp_path / "plan.toml", tmp_path / "plan.toml")
    assert everything(tmp_path) == {"plan.toml": b"new"}


def test_a_file_that_appears_meanwhile_stays(tmp_path, monkeypatch):
    path, real = tmp_path / "plan.toml", os.link

    def late(part, target):
        path.write_text("theirs")
        real(part, target)

    monkeypatch.setattr(files.os, "link", late)
    with pytest.raises(AlreadyThere):
        write_file(path, "new")
    assert everything(tmp_path) == {"plan.toml": b"theirs"}


def test_a_folder_appears_whole(tmp_path):
    write_folder(tmp_path / "new" / "sheet", THREE)
    assert everything(tmp_path / "new" / "sheet").keys() == THREE.keys()
    assert [p.name for p in (tmp_path / "new").iterdir()] == ["sheet"]


def test_a_folder_keeps_what_is_not_ours(tmp_path):
    sheet = tmp_path / "sheet"
    sheet.mkdir()
    (sheet / "notes.txt").write_text("mine")
    write_folder(sheet, THREE)
    with pytest.raises(AlreadyThere, match=r"cuts\.csv and 2 more: there already"):
        write_folder(sheet, dict.fromkeys(THREE, "other"))
    assert everything(sheet)["cuts.csv"] == b"a,b\n"
    write_folder(sheet, {"cuts.csv": "other"}, force=True)
    assert everything(sheet)["cuts.csv"] == b"other"
    assert everything(sheet)["notes.txt"] == b"mine"


def test_no_file_of_a_folder_is_written_through_a_link(tmp_path):
    sheet = tmp_path / "sheet"
    sheet.mkdir()
    (tmp_path / "theirs").write_text("theirs")
    (sheet / "cuts.csv").symlink_to(tmp_path / "theirs")
    with pytest.raises(NotWritten, match="is a link"):
        write_folder(sheet, THREE, force=True)
    assert (tmp_path / "theirs").read_text() == "theirs"
    assert not (sheet / "page.html").exists()


def test_ended_at_any_moment_it_is_whole_or_absent_and_the_next_run_goes_on(tmp_path):
    code = (
        "import sys; from aquacalc.files import write_folder; print(1, flush=True);"
        "write_folder(sys.argv[1], {f'{k}.csv': b'x' * 200_000 for k in range(40)})"
    )
    seen = set()
    for pause in (0.0, 0.005, 0.02, 0.05):
        target = tmp_path / "sheet"
        process = subprocess.Popen([sys.executable, "-c", code, str(target)], stdout=subprocess.PIPE)
        process.stdout.readline()
        time.sleep(pause)
        process.send_signal(signal.SIGKILL)
        process.wait()
        process.stdout.close()
        count = len(everything(target)) if target.exists() else 0
        assert count in (0, 40)
        seen.add(count)
        write_folder(target, {"0.csv": b"y"}, force=True)
        assert [p.name for p in tmp_path.iterdir()] == ["sheet"]  # what was left over is gone
        for file in target.iterdir():
            file.unlink()
        target.rmdir()
    assert 0 in seen


@pytest.mark.parametrize("name", ["plan.toml", "[a] *.html", "ü" * 80 + ".html"])
def test_what_a_killed_run_left_beside_a_file_goes_with_the_next(tmp_path, name):
    def killed(target):
        return files._part(target.parent, "half", files._beside(target))

    left, other = killed(tmp_path / name), killed(tmp_path / "other.toml")
    write_file(tmp_path / name, "whole")
    assert not left.exists()
    assert everything(tmp_path).keys() == {name, other.name}
    write_file(tmp_path / name, "again", force=True)
    assert (tmp_path / name).read_text() == "again"


def test_what_is_in_the_way_is_named_with_how_many_more(tmp_path):
    """The first by name; a page of ours is one that may be replaced only where that is asked for."""
    for name in ("b.csv", "a.csv", "c.csv"):
        (tmp_path / name).write_text("mine")
    for names, said in (("cx", r"/c\.csv: there already"), ("cb", r"/b\.csv and 1 more: "),
                        ("cab", r"/a\.csv and 2 more: ")):  # fmt: skip
        names = [f"{name}.csv" for name in names]
        with pytest.raises(AlreadyThere, match=said):
            files.check_folder(tmp_path, names)
        files.check_folder(tmp_path, names, force=True)
    page = tmp_path / "report.html"
    page.write_text(OURS)
    files.check_target(page, ours=True)
    with pytest.raises(AlreadyThere):
        files.check_target(page)
    assert files.is_ours(page)
    assert not files.is_ours(tmp_path / "a.csv")
    assert not files.is_ours(tmp_path / "nothing")
    page.write_text(" " * 4096 + OURS)  # beyond the head of a page
    assert not files.is_ours(page)


def test_an_empty_folder_becomes_the_whole_one_and_one_with_files_keeps_them(tmp_path, monkeypatch):
    moved = []
    real = os.replace
    monkeypatch.setattr(files.os, "replace", lambda a, b: moved.append(Path(b).name) or real(a, b))
    (tmp_path / "empty").mkdir()
    for name in ("new", "empty"):
        moved.clear()
        write_folder(tmp_path / name, THREE)
        assert moved[-1] == name
        assert everything(tmp_path / name).keys() == THREE.keys()
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "own.txt").write_text("own")
    write_folder(tmp_path / "mine", THREE)
    assert everything(tmp_path / "mine").keys() == {*THREE, "own.txt"}
