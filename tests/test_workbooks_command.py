"""Workbooks and data reach the user's folder, from a checkout and from a wheel; nothing is written over."""

import asyncio
import contextlib
import filecmp
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from types import SimpleNamespace

import psutil
import pytest

from aquacalc.__main__ import main
from aquacalc.catalogue import data_dir, workbooks_dir
from aquacalc.commands import workbooks
from aquacalc.commands.workbooks import LAB, travelling
from aquacalc.failure import Failure

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(autouse=True)
def no_browser(monkeypatch):
    monkeypatch.setenv("BROWSER", "true")


def copied(folder: Path) -> set[str]:
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.identity
def test_all_of_them_arrive_unchanged(tmp_path, capsys):
    folder = tmp_path / "new" / "mine"
    assert main(["workbooks", str(folder)]) == 0
    books = {p.name for p in workbooks_dir().glob("*.ipynb")}
    assert len(books) >= 5
    assert {"data/plans/greenhouse.toml", "data/pipes.csv", *books} <= copied(folder)
    assert copied(folder) == set(travelling())
    for name, source in travelling().items():
        assert filecmp.cmp(source, folder / name, shallow=False), name
    said = capsys.readouterr().out
    assert f"Open them with: {sys.executable} -m aquacalc workbooks " in said
    others = len(copied(folder)) - len(books)
    assert f"Copying {len(books)} workbooks and {others} other files to {folder} ..." in said
    assert "--open" in said


@pytest.mark.identity
def test_what_is_hidden_does_not_travel(tmp_path, monkeypatch):
    for name in (
        "books/00.ipynb",
        "books/.checkpoints/00.ipynb",
        "books/_made/x",
        "data/a/b.csv",
        "data/a/.b",
    ):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("")
    monkeypatch.setattr("aquacalc.catalogue.workbooks_dir", lambda: tmp_path / "books")
    monkeypatch.setattr("aquacalc.catalogue.data_dir", lambda: tmp_path / "data")
    assert travelling() == {
        "00.ipynb": tmp_path / "books/00.ipynb", "data/a/b.csv": tmp_path / "data/a/b.csv",
    }  # fmt: skip


@pytest.mark.identity
def test_nothing_is_written_over_and_nothing_half_copied(tmp_path, capsys):
    mine = tmp_path / next(name for name in travelling() if name.endswith(".ipynb"))
    mine.write_text("my own work")
    for more in ([], ["--open"]):
        assert main(["workbooks", str(tmp_path), *more]) == 2
        error = capsys.readouterr().err
        assert mine.name in error
        assert "Fix:" in error
        assert error.count("\n") == 1
        assert copied(tmp_path) == {mine.name}
        assert mine.read_text() == "my own work"


@pytest.mark.identity
def test_a_file_of_another_name_is_left_alone(tmp_path):
    (tmp_path / "my-plan.toml").write_text("mine")
    assert main(["workbooks", str(tmp_path)]) == 0
    assert (tmp_path / "my-plan.toml").read_text() == "mine"


@pytest.mark.identity
def test_a_folder_that_cannot_be_written_is_said_in_one_line(tmp_path, capsys):
    (tmp_path / "file").write_text("")
    assert main(["workbooks", str(tmp_path / "file" / "folder")]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "Fix:" in error


def wait_for(words: str, stream, seconds: float) -> str:
    """Read lines until one holds `words`; that line."""
    until = time.monotonic() + seconds
    seen = []
    while time.monotonic() < until:
        line = stream.readline()
        seen.append(line)
        if words in line:
            return line
        if not line:
            break
    raise AssertionError(f"{words!r} was not said: {''.join(seen)}")


def alive(process: psutil.Process) -> bool:
    try:
        return process.is_running() and process.status() != psutil.STATUS_ZOMBIE
    except psutil.NoSuchProcess:
        return False


def status(url: str) -> int:
    try:
        with urllib.request.urlopen(url, timeout=10) as answer:
            return answer.status
    except urllib.error.HTTPError as error:
        return error.code


@pytest.mark.identity
@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
@pytest.mark.timeout(600)
def test_open_serves_on_loopback_with_a_token_and_stops_cleanly(tmp_path):
    command = [sys.executable, "-m", "aquacalc", "workbooks", str(tmp_path / "mine"), "--open"]
    ours = subprocess.Popen(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a suite run aside may ignore it
    )  # fmt: skip
    try:
        wait_for("Copying", ours.stdout, 120)
        wait_for("Starting JupyterLab", ours.stdout, 120)
        line = wait_for("open at", ours.stdout, 120)
        base, port, token = re.search(
            r"(http://\S+?:(\d+)/)doc/tree/00\S+\?token=([0-9a-f]{40,})", line
        ).groups()
        children = psutil.Process(ours.pid).children(recursive=True)
        assert status(f"{base}api/contents?token={token}") == 200
        assert status(f"{base}api/contents") == 403
        listens, told = [], []
        for child in children:
            with contextlib.suppress(psutil.NoSuchProcess):  # such as the one that opened a browser
                told += child.cmdline()
                listens += [c.laddr for c in child.net_connections("inet") if c.status == psutil.CONN_LISTEN]
        assert int(port) in {address.port for address in listens}
        assert {address.ip for address in listens} <= {"127.0.0.1", "::1"}
        assert "jupyterlab" in told
        assert not any(token in word for word in told)
        ours.send_signal(signal.SIGINT)
        wait_for("Stopped.", ours.stdout, 120)
        assert ours.wait(30) == 0
        assert not any(alive(child) for child in children)
    finally:
        ours.terminate()
        ours.wait(30)
        ours.stdout.close()
    assert copied(tmp_path / "mine") >= set(travelling())


@pytest.mark.identity
def test_with_open_workbooks_that_are_there_stay_as_they_are(tmp_path, monkeypatch, capsys):
    from aquacalc.commands import workbooks

    monkeypatch.setattr(workbooks, "open_lab", lambda folder: 0)
    assert main(["workbooks", str(tmp_path)]) == 0
    first = next(tmp_path.glob("*.ipynb"))
    first.write_text("changed by me")
    assert main(["workbooks", str(tmp_path), "--open"]) == 0
    assert first.read_text() == "changed by me"
    assert "already" in capsys.readouterr().out


@pytest.mark.identity
def test_a_lab_that_does_not_start_is_said(tmp_path, monkeypatch, capsys):
    from aquacalc.commands import workbooks

    monkeypatch.setattr(
        workbooks, "lab_command", lambda folder: [sys.executable, "-c", "raise SystemExit(3)"]
    )
    assert main(["workbooks", str(tmp_path), "--open"]) == 2
    assert "stopped with status 3" in capsys.readouterr().err


@pytest.mark.identity
def test_a_lab_that_says_nothing_is_ended_and_said(tmp_path, monkeypatch, capsys):
    """One that ignores being asked to end is killed."""
    from aquacalc.commands import workbooks

    deaf = "import signal, time; signal.signal(15, signal.SIG_IGN); print(1, flush=True); time.sleep(60)"
    monkeypatch.setattr(workbooks, "lab_command", lambda folder: [sys.executable, "-c", deaf])
    monkeypatch.setattr(workbooks, "PATIENCE", 1.5)
    labs, begin, started = [], subprocess.Popen, time.monotonic()
    monkeypatch.setattr(subprocess, "Popen", lambda *a, **k: labs.append(begin(*a, **k)) or labs[-1])
    assert main(["workbooks", str(tmp_path), "--open"]) == 2
    assert "JupyterLab said nothing for 2 s" in capsys.readouterr().err
    assert time.monotonic() - started < 30.0
    assert [lab.returncode for lab in labs if deaf in lab.args] == [-signal.SIGKILL]


@pytest.mark.identity
@pytest.mark.parametrize(("user", "more"), [(0, ["--allow-root"]), (1000, [])])
def test_root_is_allowed_only_where_it_is_root(tmp_path, monkeypatch, user, more):
    from aquacalc.commands import workbooks

    monkeypatch.setattr(workbooks.os, "geteuid", lambda: user, raising=False)
    command = workbooks.lab_command(tmp_path)
    assert command[:4] == [sys.executable, "-m", "jupyterlab", f"--ServerApp.root_dir={tmp_path}"]
    assert command[4:] == [*LAB, *more]


@pytest.mark.identity
def test_settings_of_the_user_come_before_ours(monkeypatch):
    from aquacalc.commands import workbooks

    monkeypatch.setenv("JUPYTER_CONFIG_PATH", "/theirs")
    assert workbooks.lab_environment("t")["JUPYTER_CONFIG_PATH"] == f"/theirs{os.pathsep}{workbooks.OURS}"
    monkeypatch.delenv("JUPYTER_CONFIG_PATH")
    found = workbooks.lab_environment("t")
    assert (found["JUPYTER_CONFIG_PATH"], found["JUPYTER_TOKEN"]) == (str(workbooks.OURS), "t")


@pytest.mark.identity
def test_the_address_is_told_once_it_answers(monkeypatch):
    from aquacalc.commands import workbooks

    with socket.socket() as place:
        place.bind(("127.0.0.1", 0))  # taken, and nobody listens yet
        port = place.getsockname()[1]
        server = {"pid": 7, "hostname": "127.0.0.1", "port": port, "url": f"http://127.0.0.1:{port}/"}
        running = SimpleNamespace(list_running_servers=lambda: [server | {"token": "t"}])
        for name in ("jupyter_server", "jupyter_server.serverapp"):  # which takes a while to load
            monkeypatch.setitem(sys.modules, name, running)
        waits = []
        monkeypatch.setattr(workbooks.time, "sleep", lambda s: waits.append(s) or place.listen())
        told = workbooks._address(SimpleNamespace(pid=7, poll=lambda: None))
    assert told.startswith(f"http://127.0.0.1:{port}/doc/tree/00")
    assert len(waits) == 1


@pytest.mark.identity
@pytest.mark.timeout(120)
def test_a_wheel_installed_elsewhere_finds_its_data_and_workbooks(tmp_path):
    def run(*command, **more):
        return subprocess.run(command, check=True, capture_output=True, text=True, **more).stdout

    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check", "-q")
    run(*pip, "wheel", "--no-deps", "--no-build-isolation", "--no-index", "-w", str(tmp_path), str(ROOT))
    (wheel,) = tmp_path.glob("*.whl")
    place = tmp_path / "elsewhere"
    run(*pip, "install", "--no-deps", "--no-index", "--target", str(place), str(wheel))
    env = os.environ | {"PYTHONPATH": str(place)}
    asked = "import aquacalc.catalogue as c; print(c.__file__); print(c.data_dir()); print(c.workbooks_dir())"
    found = run(sys.executable, "-c", asked, cwd=tmp_path, env=env).split("\n")[:3]
    assert all(Path(path).is_relative_to(place) for path in found)
    run(sys.executable, "-m", "aquacalc", "workbooks", "mine", cwd=tmp_path, env=env)
    assert copied(tmp_path / "mine") == set(travelling())
    for name, source in travelling().items():
        assert filecmp.cmp(source, tmp_path / "mine" / name, shallow=False), name
    plan = tmp_path / "mine" / "data" / "plans" / "greenhouse.toml"
    report = run(sys.executable, "-m", "aquacalc", "report", str(plan), cwd=tmp_path, env=env)
    assert "School greenhouse herbs" in report


@pytest.mark.identity
def test_checkout_has_one_place_for_each():
    assert data_dir() == ROOT / "data"
    assert workbooks_dir() == ROOT / "workbooks"


@pytest.mark.identity
def test_no_message_of_a_kernel_is_held_back(monkeypatch):
    """The class that JupyterLab is started with, by the name it is started with."""
    from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
    from traitlets.utils.importstring import import_item

    told = []

    class Handler:
        def set_nodelay(self, value):
            told.append(value)

    async def connect(self):
        told.append("connected")

    monkeypatch.setattr(ZMQChannelsWebsocketConnection, "connect", connect)
    (option,) = [o for o in LAB if "kernel_websocket_connection_class" in o]
    kind = import_item(option.partition("=")[2])
    assert issubclass(kind, ZMQChannelsWebsocketConnection)
    connection = kind.__new__(kind)
    connection._trait_values = {"websocket_handler": Handler()}
    asyncio.run(connection.connect())
    assert told == [True, "connected"]


@pytest.mark.identity
def test_what_is_copied_is_counted(tmp_path, capsys):
    files = travelling()
    workbooks.copy(files, tmp_path / "mine")
    books = len(list(workbooks_dir().glob("*.ipynb")))
    others = len(copied(tmp_path / "mine")) - books
    assert f"Copying {books} workbooks and {others} other files to " in capsys.readouterr().out


@pytest.mark.identity
@pytest.mark.parametrize(("user", "allowed"), [(0, True), (1000, False), (None, False)])
def test_only_root_is_let_serve_as_root(user, allowed, tmp_path, monkeypatch):
    if user is None:  # a system without such numbers
        monkeypatch.delattr(os, "geteuid")
    else:
        monkeypatch.setattr(os, "geteuid", lambda: user)
    command = workbooks.lab_command(tmp_path)
    assert ("--allow-root" in command) == allowed
    assert f"--ServerApp.root_dir={tmp_path}" in command


@pytest.mark.identity
@pytest.mark.parametrize("others", ["", "/theirs"])
def test_the_lab_gets_its_token_by_the_environment_and_our_settings_last(others, monkeypatch):
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", others)
    made = workbooks.lab_environment("abc")
    assert made["JUPYTER_TOKEN"] == "abc"
    assert made["JUPYTER_CONFIG_PATH"] == os.pathsep.join([*filter(None, [others]), str(workbooks.OURS)])
    assert {k: v for k, v in made.items() if not k.startswith("JUPYTER_")}.items() <= os.environ.items()


class Lab:
    """A stand-in for the process of a lab: it ends when terminated, or only when killed."""

    def __init__(self, status=None, deaf=False):
        self.pid, self.returncode, self.deaf, self.did = 4711, status, deaf, []

    def poll(self):
        return self.returncode

    def terminate(self):
        self.did.append("terminate")

    def kill(self):
        self.did.append("kill")

    def wait(self, seconds=None):
        self.did.append(seconds)
        if self.deaf and "kill" not in self.did:
            raise subprocess.TimeoutExpired("lab", seconds)


@pytest.mark.identity
def test_a_lab_is_ended_gently_and_one_that_stays_is_killed():
    for lab, did in ((Lab(0), []), (Lab(), ["terminate", workbooks.PATIENCE / 6]),
                     (Lab(deaf=True), ["terminate", workbooks.PATIENCE / 6, "kill", None])):  # fmt: skip
        workbooks._stop(lab)
        assert lab.did == did


@pytest.mark.identity
def test_the_address_is_that_of_our_own_server_once_it_listens(monkeypatch):
    with socket.socket() as listens:
        listens.bind(("127.0.0.1", 0))
        listens.listen()
        port = listens.getsockname()[1]
        found = {"url": f"http://127.0.0.1:{port}/", "hostname": "127.0.0.1", "port": port, "token": "t"}
        servers = [found | {"pid": 1, "token": "other"}, found | {"pid": 4711}]
        app = SimpleNamespace(list_running_servers=lambda: servers)
        monkeypatch.setitem(sys.modules, "jupyter_server", SimpleNamespace(serverapp=app))
        monkeypatch.setitem(sys.modules, "jupyter_server.serverapp", app)
        assert workbooks._address(Lab()) == f"http://127.0.0.1:{port}/{workbooks.FIRST}?token=t"
    with pytest.raises(Failure, match="stopped with status 3"):
        workbooks._address(Lab(3))
    monkeypatch.setattr(workbooks, "PATIENCE", 0.05)
    with pytest.raises(Failure, match="said nothing"):  # it has the address and does not listen any more
        workbooks._address(Lab())


@pytest.mark.identity
def test_workbooks_that_are_there_are_only_opened(tmp_path, capsys, monkeypatch):
    opened = []
    monkeypatch.setattr(workbooks, "open_lab", lambda folder: opened.append(folder) or 0)
    for name in travelling():
        if name.endswith(".ipynb"):
            (tmp_path / name).write_text("mine")
    assert main(["workbooks", str(tmp_path), "--open"]) == 0
    assert "already and stay as they are" in capsys.readouterr().out
    assert opened == [tmp_path.resolve()]
    assert main(["workbooks", str(tmp_path)]) == 2
    assert main(["workbooks", str(tmp_path / "new"), "--open"]) == 0
    assert copied(tmp_path / "new") == set(travelling())
    assert opened[1:] == [(tmp_path / "new").resolve()]
