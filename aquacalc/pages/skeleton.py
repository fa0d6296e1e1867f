"""The skeleton of every page: one file that opens offline, runs nothing and fetches nothing."""

from __future__ import annotations

import base64
import functools
import hashlib
import re
import zlib
from importlib.resources import files

from aquacalc import __version__

#: Nothing is fetched and nothing runs. Style attributes are for pictures drawn as SVG.
_POLICY = (
    "default-src 'none'; img-src data:; style-src-elem {styles}; style-src-attr 'unsafe-inline'; "
    "base-uri 'none'; form-action 'none'{scripts}"
)
#: Runs what a page holds packed: it is a third as large, and the policy names the hash of what comes out.
_UNPACK = """\
async function unpacked(text) {
const bytes = Uint8Array.from(atob(text), sign => sign.charCodeAt(0));
return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"))).text();
}
(async () => {
const made = document.createElement("script");
made.textContent = await unpacked(document.getElementById("program").textContent);
document.body.append(made);
made.remove();
})();"""
_STYLE = re.compile(r"<style[^>]*>(.*?)</style>", re.S)


@functools.cache
def _template():
    from jinja2 import Environment, StrictUndefined

    source = (files("aquacalc.pages") / "page.html.j2").read_text(encoding="utf-8")
    return Environment(autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True).from_string(
        source
    )


@functools.cache
def style() -> str:
    """Return the one style sheet of all pages, its comments and spare spaces left out."""
    source = (files("aquacalc.pages") / "style.css").read_text(encoding="utf-8")
    return re.sub(r"\s+", " ", re.sub(r"/\*.*?\*/", "", source, flags=re.S))


def skeleton(title: str, body: str, *, kind: str, foot: str = "", scripts: tuple[str, ...] = ()) -> str:
    """Put a page together.

    Parameters
    ----------
    title : str
        Plain text.
    body : str
        Markup whose parts have been escaped. Style sheets inside its pictures
        are allowed by their own text.
    kind : str
        "report", "build", "bench", "handout" or "evidence": what its style goes by.
    foot : str
        Plain text under the page.
    scripts : tuple of str
        What the page runs, after all else; nothing else runs in it. `await unpacked(text)` undoes `packed`.

    Returns
    -------
    str
        A whole HTML page.

    Examples
    --------
    >>> "&lt;b&gt;" in skeleton("<b>", "<p>Water.</p>", kind="report")
    True
    """
    from markupsafe import Markup

    hashes = dict.fromkeys(_hash(rules) for rules in (style(), *_STYLE.findall(body)))
    program = "\n".join(scripts)
    allowed = f"; script-src {_hash(_UNPACK)} {_hash(program)}" if scripts else ""
    return _template().render(
        version=__version__,
        policy=Markup(_POLICY.format(styles=" ".join(hashes), scripts=allowed)),
        title=title,
        style=Markup(style()),
        kind=kind,
        body=Markup(body),
        foot=foot,
        program=packed(program) if scripts else "",
        unpack=Markup(_UNPACK),
    )


def packed(text: str) -> str:
    """Return a text as a page with scripts keeps it: deflated, in letters and digits."""
    return base64.b64encode(zlib.compress(text.encode(), 9)).decode()


def _hash(rules: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(rules.encode()).digest()).decode()}'"
