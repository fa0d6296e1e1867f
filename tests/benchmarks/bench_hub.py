"""A class in notebooks on loopback, by JupyterHub: `python -m tests.benchmarks.bench_hub [learners]`, 20.

Run by the Python of the environment that `workbooks/class-server.md` makes; its configuration is the one of
that page, except that a kernel left idle is ended after two minutes. Each learner signs up, logs in, has a
server started, opens a kernel with a panel of the demo and moves its flow slider, all of them at once; then
the pages are left open, and the kernels that were used must go.
"""

from __future__ import annotations

import asyncio
import http.cookiejar
import json
import os
import re
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.parse
import urllib.request
import uuid
from pathlib import Path

from tornado.httpclient import HTTPRequest
from tornado.websocket import websocket_connect

PAGE = Path(__file__).parents[2] / "workbooks" / "class-server.md"
PORT = 8766
ROOT = f"http://127.0.0.1:{PORT}"
MOVES = 20
#: Between two moves of one learner, s.
PAUSE = 1.0
#: A kernel is ended this long after its last move (s), looked at as often as `LOOK`.
IDLE, LOOK = 120, 5
TOKEN = uuid.uuid4().hex
#: A service that may do what the client below asks for; the page's configuration stays as it is above it.
MORE = f"""
c.JupyterHub.bind_url = "{ROOT}"
c.JupyterHub.services.append({{"name": "bench", "api_token": "{TOKEN}"}})
c.JupyterHub.load_roles.append({{"name": "bench", "services": ["bench"], "scopes": ["admin:users", "admin:servers", "tokens", "access:servers"]}})
c.NativeAuthenticator.open_signup = True  # nobody is there to let them in
"""  # noqa: E501
PANEL = """
from aquacalc.notebook import BedsPanel, open_plan
panel = BedsPanel(open_plan("greenhouse"))
slider = next(iter(panel.knobs.values())).slider
print("IDS", slider.model_id, panel.words.model_id, slider.min, slider.max, slider.step)
"""


def ask(path: str, method: str = "GET", data: dict | None = None, token: str = TOKEN) -> dict:
    """Ask the hub's or a server's API."""
    request = urllib.request.Request(
        ROOT + path, method=method, data=None if data is None else json.dumps(data).encode(),
        headers={"Authorization": f"token {token}", "Content-Type": "application/json"},
    )  # fmt: skip
    with urllib.request.urlopen(request, timeout=120) as reply:
        return json.loads(reply.read() or b"{}")


def log_in(name: str, password: str, sign_up: bool) -> bool:
    """Fill in the hub's own forms; whether that let the learner in."""
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))
    for form in ("signup", "login") if sign_up else ("login",):
        page = opener.open(f"{ROOT}/hub/{form}", timeout=60).read().decode()
        xsrf = re.search(r'name="_xsrf"\s+value="([^"]+)"', page)[1]
        fields = {"_xsrf": xsrf, "username": name, "password": password}
        if form == "signup":
            fields |= {"signup_password": password, "signup_password_confirmation": password}
        try:
            opener.open(f"{ROOT}/hub/{form}?next=%2Fhub%2Fhome", urllib.parse.urlencode(fields).encode(), 60)
        except urllib.error.HTTPError:
            return False
    return "/hub/home" in opener.open(f"{ROOT}/hub/home", timeout=60).geturl()


async def learner(name: str, loads: list[float], moves: list[float], failures: list[str]) -> tuple | None:
    """Start a server and a kernel, open the panel, move its slider; its token, open page and last move."""
    began = time.perf_counter()
    try:
        await asyncio.to_thread(ask, f"/hub/api/users/{name}/server", "POST")
        while not (await asyncio.to_thread(ask, f"/hub/api/users/{name}"))["servers"][""]["ready"]:
            await asyncio.sleep(0.5)
        made = await asyncio.to_thread(ask, f"/hub/api/users/{name}/tokens", "POST", {})
        token = made["token"]
        kernel = await asyncio.to_thread(
            ask, f"/user/{name}/api/kernels", "POST", {"path": "workbooks"}, token
        )
        url = f"ws://127.0.0.1:{PORT}/user/{name}/api/kernels/{kernel['id']}/channels"
        socket = await websocket_connect(HTTPRequest(url, headers={"Authorization": f"token {token}"}))
        await socket.write_message(message("execute_request", {"code": PANEL, "silent": False}))
        told = await answer(socket, lambda m: m["msg_type"] in ("stream", "error"), 180)
        words = told["content"].get("text", "")
        if not words.startswith("IDS"):
            raise RuntimeError(f"{told['content']}"[:300])
        _, slider, shown, low, high, step = words.split()
        loads.append(1e3 * (time.perf_counter() - began))
        for k in range(MOVES):
            value = 0.5 * (float(low) + float(high)) + k * float(step)
            began = time.perf_counter()
            state = {"method": "update", "state": {"value": value}, "buffer_paths": []}
            await socket.write_message(message("comm_msg", {"comm_id": slider, "data": state}))
            await answer(
                socket,
                lambda m: m["msg_type"] == "comm_msg" and m["content"]["comm_id"] == shown,
                30,
            )
            moves.append(1e3 * (time.perf_counter() - began))
            await asyncio.sleep(PAUSE)
        return token, socket, time.perf_counter()
    except Exception as error:
        failures.append(f"{name}: {error!r}")
    return None


async def ended(name: str, token: str, used: float, failures: list[str]) -> float:
    """Wait until a learner's kernel is gone; how long after its last move, s."""
    while await asyncio.to_thread(ask, f"/user/{name}/api/kernels", "GET", None, token):
        if time.perf_counter() - used > 3 * IDLE:
            failures.append(f"{name}: kernel not ended")
            break
        await asyncio.sleep(1.0)
    return time.perf_counter() - used


def message(kind: str, content: dict) -> str:
    """Write a message to a kernel."""
    header = {"msg_id": uuid.uuid4().hex, "msg_type": kind, "username": "", "session": "x", "version": "5.3"}
    return json.dumps(
        {"header": header, "parent_header": {}, "metadata": {}, "content": content, "channel": "shell",
         "buffers": []}
    )  # fmt: skip


async def answer(socket, wanted, patience: float) -> dict:
    """Wait for a message of a kernel."""
    end = time.monotonic() + patience
    while True:
        text = await asyncio.wait_for(socket.read_message(), max(end - time.monotonic(), 0.01))
        if text is None:
            raise RuntimeError("the connection was closed")
        if isinstance(text, str) and wanted(found := json.loads(text)):
            return found


def memory(root: int) -> float:
    """Return what a process and all that it started hold for themselves (PSS), MB."""
    parents = {}
    for status in Path("/proc").glob("[0-9]*/status"):
        try:
            text = status.read_text(encoding="ascii", errors="replace")
        except OSError:
            continue
        parents[int(status.parent.name)] = int(text.split("PPid:")[1].split()[0])
    family, total = {root}, 0.0
    while more := {p for p, parent in parents.items() if parent in family} - family:
        family |= more
    for process in family:
        try:
            text = Path(f"/proc/{process}/smaps_rollup").read_text(encoding="ascii")
        except OSError:
            continue
        total += int(text.split("Pss:")[1].split()[0]) / 1e3
    return total


def say(what: str, took: list[float]) -> None:
    """Print median and p95."""
    took = sorted(took) or [float("nan")]
    print(
        f"{what}: median {statistics.median(took):.0f} ms, p95 {took[int(0.95 * len(took))]:.0f}, {len(took)}"
    )


async def main(learners: int) -> None:
    print(f"load before {os.getloadavg()[0]:.1f}")
    loads, moves, failures = [], [], []
    folder = Path(tempfile.mkdtemp())
    root = "c.Spawner.args.append('--allow-root')\n" if os.geteuid() == 0 else ""
    config = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)[0]
    for was, now in (("timeout=1200", f"timeout={IDLE}"), ("interval=60", f"interval={LOOK}")):
        if was not in config:
            raise SystemExit(f"{PAGE}: no {was} in its configuration")
        config = config.replace(was, now)
    (folder / "jupyterhub_config.py").write_text(config + MORE + root, encoding="utf-8")
    with (folder / "log").open("w") as log:
        hub = subprocess.Popen(
            [sys.executable, "-m", "jupyterhub"], cwd=folder, stdout=log, stderr=log, start_new_session=True
        )
        try:
            for _ in range(120):
                try:
                    ask("/hub/api/")
                    break
                except OSError:
                    await asyncio.sleep(0.5)
            print(f"hub alone {memory(hub.pid):.0f} MB")
            names = [f"learner{k + 1}" for k in range(learners)]
            for name in names:
                if not log_in(name, f"own-{name}-word", sign_up=True):
                    failures.append(f"{name}: not let in")
            print("let in with another's password:", log_in(names[0], f"own-{names[-1]}-word", sign_up=False))
            pages = await asyncio.gather(*(learner(name, loads, moves, failures) for name in names))
            print(f"with {learners} learners {memory(hub.pid):.0f} MB, load {os.getloadavg()[0]:.1f}")
            copies = len(list((folder / "class").glob("*/workbooks/00-*.ipynb")))
            print(f"folders with workbooks of their own: {copies}")
            left = [(name, page) for name, page in zip(names, pages, strict=True) if page]
            idle = await asyncio.gather(*(ended(name, page[0], page[2], failures) for name, page in left))
            first, last = min(idle, default=0.0), max(idle, default=0.0)
            print(f"kernels ended {first:.0f} to {last:.0f} s after the last move, pages open")
            print(f"then {memory(hub.pid):.0f} MB")
        finally:
            hub.send_signal(signal.SIGTERM)
            hub.wait(60)
    say("panel there", loads)
    say("a move, from the slider to its picture", moves)
    print(f"failures {len(failures)}", *failures[:5], sep="\n")
    if failures:
        print((folder / "log").read_text(encoding="utf-8")[-3000:])
    shutil.rmtree(folder)


if __name__ == "__main__":
    asyncio.run(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20))
