"""A folder of live pages served to a class on its own network, by the standard library's server."""

from __future__ import annotations

import socket
from functools import partial
from html import escape
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import quote, unquote

from aquacalc.files import is_ours
from aquacalc.pages.skeleton import skeleton


def pages(folder: Path) -> dict[str, Path]:
    """Return the pages in a folder that aquacalc wrote, by name; nothing else of it is served."""
    return {path.name: path for path in sorted(folder.glob("*.html")) if path.is_file() and is_ours(path)}


class _Handler(BaseHTTPRequestHandler):
    """Gives out the pages and a list of them; knows no other request."""

    server_version = "aquacalc"
    sys_version = ""
    timeout = 30

    def __init__(self, *args, folder: Path):
        self.folder = folder
        super().__init__(*args)

    def do_GET(self) -> None:
        name = unquote(self.path.partition("?")[0]).removeprefix("/")
        found = pages(self.folder)
        if not name:
            rows = "".join(f'<li><a href="/{quote(n)}">{escape(n)}</a></li>' for n in found)
            body = skeleton(
                "Live pages", f"<main><h1>Live pages</h1><ul>{rows}</ul></main>", kind="live"
            ).encode()
        elif name in found:
            body = found[name].read_bytes()
        else:
            self.send_error(HTTPStatus.NOT_FOUND, "there is no such page")
            return
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.send_header("X-Content-Type-Options", "nosniff")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        """Keep no record of who looked at what."""


class _Server(ThreadingHTTPServer):
    """Lets a whole class knock at once: with five places in its queue the rest try again a second later."""

    request_queue_size = 128
    daemon_threads = True


def server(folder: Path, host: str, port: int) -> ThreadingHTTPServer:
    """Return a server of a folder's pages; its `serve_forever` runs it.

    Parameters
    ----------
    folder : Path
    host : str
        "" for every network that this machine is on.
    port : int
        0 for any that is free.
    """
    return _Server((host, port), partial(_Handler, folder=folder))


def own_address() -> str:
    """Return this machine's address on its network, "127.0.0.1" when it is on none; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address that is nobody's
            return probe.getsockname()[0]
        except OSError:
            return "127.0.0.1"
