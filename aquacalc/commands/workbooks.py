"""`aquacalc workbooks`: copy the workbooks and data to the user's own folder, and open them there."""

from __future__ import annotations

import argparse
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from aquacalc.failure import Failure
from aquacalc.files import write_folder

SUMMARY = "copy the workbooks and data to a folder of your own"
EPILOG = (
    "Nothing that is there is written over. With --open and the workbooks already in DIR, they are opened "
    "as they are. JupyterLab listens on this computer only and asks for the token in the address."
)
#: How long JupyterLab may take to start or to stop, s.
PATIENCE = 60.0
#: What JupyterLab is given of ours: an extension that names sliders for screen readers, and settings that
#: leave out two of its own: a question about news, which covers a panel, and the icon of the page that
#: changes each time the kernel is busy, which is a third of the work of a key.
OURS = Path(__file__).parent / "lab"
#: It begins with one workbook and no side panel, so that a narrow window has room for the pictures.
FIRST = "doc/tree/00-start-here.ipynb"
#: JupyterLab on loopback, asking nobody about news and updates; Ctrl-C stops it without a question.
LAB = (
    "--ServerApp.ip=127.0.0.1",
    "--ServerApp.answer_yes=True",
    "--ServerApp.log_level=WARN",
    "--LabApp.news_url=None",
    "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    "--LabApp.extension_manager=readonly",
    f"--LabApp.extra_labextensions_path={OURS / 'labextensions'}",
    f"--LabApp.default_url=/{FIRST}",
    "--ServerApp.kernel_websocket_connection_class=aquacalc.commands.prompt_socket.PromptConnection",
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.epilog = EPILOG
    parser.add_argument("folder", metavar="DIR", type=Path, help="your folder; made when it is not there")
    parser.add_argument("--open", action="store_true", help="start JupyterLab there")


def run(args: argparse.Namespace) -> int:
    """Copy, and open when asked; 0."""
    folder = args.folder.resolve()
    files = travelling()
    if args.open and all((folder / name).exists() for name in files if name.endswith(".ipynb")):
        print(f"The workbooks are in {folder} already and stay as they are.", flush=True)
    else:
        copy(files, folder)
    if args.open:
        return open_lab(folder)
    command = [sys.executable, "-m", "aquacalc", "workbooks", str(args.folder), "--open"]
    print(f"Open them with: {subprocess.list2cmdline(command)}")
    return 0


def travelling() -> dict[str, Path]:
    """Return what is copied: name below the user's folder -> file. Data stands in its own folder."""
    from aquacalc.catalogue import data_dir, workbooks_dir

    found = {}
    for place, under in ((workbooks_dir(), ""), (data_dir(), "data/")):
        for path in sorted(place.rglob("*")):
            name = path.relative_to(place)
            hidden = any(part.startswith((".", "_")) for part in name.parts)
            if path.is_file() and not hidden:
                found[under + name.as_posix()] = path
    return found


def copy(files: dict[str, Path], folder: Path) -> None:
    """Copy every file, or none when one is in the way.

    Raises
    ------
    NotWritten, AlreadyThere
    """
    books = sum(name.endswith(".ipynb") for name in files)
    print(f"Copying {books} workbooks and {len(files) - books} other files to {folder} ...", flush=True)
    write_folder(folder, {name: path.read_bytes() for name, path in files.items()})
    print("Copied.", flush=True)


def lab_command(folder: Path) -> list[str]:
    """Return the command line that serves `folder`."""
    command = [sys.executable, "-m", "jupyterlab", f"--ServerApp.root_dir={folder}", *LAB]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")
    return command


def lab_environment(token: str) -> dict[str, str]:
    """Return the environment that JupyterLab runs in, with its token.

    By the environment, not the command line: any user of the computer can list command lines.
    """
    more = {
        "JUPYTER_TOKEN": token,
        # The kernel shall be this Python, whatever others the user has registered.
        "JUPYTER_PREFER_ENV_PATH": "1",
        "JUPYTER_CONFIG_PATH": os.pathsep.join(
            filter(None, (os.environ.get("JUPYTER_CONFIG_PATH"), str(OURS)))
        ),
    }
    return os.environ | more


def open_lab(folder: Path) -> int:
    """Serve `folder` with JupyterLab until it is stopped; its exit status, 0 after Ctrl-C.

    Raises
    ------
    Failure
        When JupyterLab does not start.
    """
    print("Starting JupyterLab on this computer only; this takes some seconds ...", flush=True)
    lab = subprocess.Popen(lab_command(folder), cwd=folder, env=lab_environment(secrets.token_hex(24)))
    before = signal.signal(signal.SIGTERM, _interrupt)
    try:
        address = _address(lab)
        print(f"The workbooks are open at {address}")
        print(
            "Begin with 00; the folder at the left of the page has the others. To stop: press Ctrl-C here.",
            flush=True,
        )
        return lab.wait()
    except KeyboardInterrupt:
        print("\nStopping JupyterLab ...", flush=True)
        _stop(lab)
        print(f"Stopped. Your workbooks stay in {folder}", flush=True)
        return 0
    finally:
        _stop(lab)
        signal.signal(signal.SIGTERM, before)


def _interrupt(number, frame):
    raise KeyboardInterrupt


def _address(lab: subprocess.Popen) -> str:
    """Wait until the server says where it listens."""
    from jupyter_server.serverapp import list_running_servers

    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        if lab.poll() is not None:
            raise Failure(
                f"JupyterLab stopped with status {lab.returncode}; what it said is above. Fix: see "
                "whether `python -m jupyterlab` starts by itself."
            )
        for server in list_running_servers():
            if server["pid"] == lab.pid and _listens(server):
                return f"{server['url']}{FIRST}?token={server['token']}"
        time.sleep(0.1)
    raise Failure(f"JupyterLab said nothing for {PATIENCE:.0f} s. Fix: try again, or restart the computer.")


def _listens(server: dict) -> bool:
    """Whether a server answers yet: it says where it listens a moment before it does."""
    try:
        socket.create_connection((server["hostname"], server["port"]), 1.0).close()
    except OSError:
        return False
    return True


def _stop(lab: subprocess.Popen) -> None:
    if lab.poll() is None:
        lab.terminate()
        try:
            lab.wait(PATIENCE / 6.0)
        except subprocess.TimeoutExpired:
            lab.kill()
            lab.wait()
