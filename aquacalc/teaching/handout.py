"""A workbook as one page that prints and opens offline: pictures inside, math without scripts."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape
from pathlib import Path
from urllib.parse import quote

from aquacalc import __version__
from aquacalc.pages.maths import mathml
from aquacalc.pages.skeleton import skeleton
from aquacalc.teaching.clean import clean
from aquacalc.teaching.learner import LEARNER

#: How an output is best shown on paper, best first.
SHOWN = ("text/latex", "text/html", "text/markdown", "image/svg+xml", "image/png", "image/jpeg", "text/plain")
_FIELD = '<span style="display:inline-block;min-width:{}em;border-bottom:1px solid">&nbsp;</span>'
_NAME = f"<p>Name: {_FIELD.format(14)} Group: {_FIELD.format(6)} Date: {_FIELD.format(6)}</p>"
_ALIGNED = re.compile(r"\s*\\begin\{(aligned|align\*?)\}(.*)\\end\{\1\}\s*", re.S)
_ANSI = re.compile(r"\x1b\[[0-9;]*m")
_OBJECT = re.compile(r"<.*>|\w+\(.*\)", re.S)


def handout(notebook, name: str, folder: Path, live: str = "") -> str:
    """Write a notebook as one HTML page.

    Parameters
    ----------
    notebook : nbformat.NotebookNode
        With its outputs.
    name : str
        File name of the notebook, for the foot of the page.
    folder : Path
        Where it lies; pictures of its texts are looked for there.
    live : str
        Name of the lesson's live page beside it, which is linked; "" for none.

    Returns
    -------
    str
        Style and pictures inside, no script, nothing fetched.
    """
    parts = [part for cell in notebook.cells for part in _cell(cell, folder) if part]
    if notebook.metadata.get("aquacalc", {}).get("copy") == LEARNER:
        parts.insert(0, _NAME)
    if live:
        parts.insert(0, f'<p><a href="{quote(live)}">This lesson with sliders</a>: {escape(live)}</p>')
    body = "\n".join(parts)
    foot = (
        f"Printed from {name} by aquacalc {__version__}. Estimates, not a guarantee: try the siphon before "
        "you glue it."
    )
    return skeleton(title_of(notebook, name), f"<main>\n{body}\n</main>", kind="handout", foot=foot)


def title_of(notebook, name: str) -> str:
    """Return the first heading of a workbook, or its name."""
    for cell in notebook.cells:
        found = re.search(r"^#\s+(.+)$", cell.source, re.M) if cell.cell_type == "markdown" else None
        if found:
            return found.group(1).strip()
    return name


def _cell(cell, folder: Path) -> Iterator[str]:
    if cell.cell_type == "markdown":
        yield markdown(cell, folder)
    elif cell.cell_type == "code":
        if cell.source.strip():
            yield (f'<details class="code"><summary>code</summary><pre>{escape(cell.source)}</pre></details>')
        for output in cell.outputs:
            shown = shown_output(output, folder)
            if shown:
                yield f'<div class="out">{shown}</div>'


def markdown(cell, folder: Path) -> str:
    """Write a cell of prose."""
    return clean(_markdown(cell.source, cell.get("attachments", {})), folder)


def shown_output(output, folder: Path) -> str:
    """Write what a cell has shown."""
    if output.output_type == "stream":
        return _pre(output.text)
    if output.output_type == "error":
        return _pre("\n".join(output.traceback))
    data = output.data
    kind = next((k for k in SHOWN if k in data), None)
    words = _text(data.get("text/plain", ""))
    if kind is None:
        return ""
    content = _text(data[kind])
    if kind == "text/html":
        return f'<div class="scroll">{clean(content, folder)}</div>'
    if kind in ("text/markdown", "text/latex"):
        return clean(_markdown(content, {}), folder)
    if kind == "text/plain":
        return _pre(content)
    return _picture(kind, content, _alt(output, kind), words)


def _text(data) -> str:
    return "".join(data) if isinstance(data, list) else str(data)


def _pre(text: str) -> str:
    text = _ANSI.sub("", text).rstrip()
    return f"<pre>{escape(text)}</pre>" if text else ""


def _alt(output, kind: str) -> str:
    """Return the text equivalent that a picture came with."""
    metadata = output.get("metadata", {})
    return metadata.get(kind, {}).get("alt", "") or metadata.get("alt", "")


def _picture(kind: str, content: str, alt: str, words: str) -> str:
    """Write a picture with its text equivalent, and the words that came with it as its caption."""
    words = "" if _OBJECT.fullmatch(words) else words
    if kind == "image/svg+xml":
        shown = clean(re.sub(r"\A.*?(?=<svg)", "", content, flags=re.S), Path())
    else:
        data = escape("".join(content.split()))  # a foreign workbook may hold anything there
        shown = clean(f'<img src="data:{kind};base64,{data}" alt="{escape(alt or words)}">', Path())
    caption = f"<figcaption>{escape(words)}</figcaption>" if words and words != alt else ""
    return f"<figure>{shown}{caption}</figure>"


def _markdown(source: str, attachments: dict) -> str:
    from nbconvert.filters.markdown_mistune import IPythonRenderer, MarkdownWithMath

    class Renderer(IPythonRenderer):
        """Math as MathML; everything else as the notebook shows it."""

        def block_math(self, body: str) -> str:
            return _math(body)

        def latex_environment(self, name: str, body: str) -> str:
            return _math(f"\\begin{{{name}}}{body}\\end{{{name}}}")

        def inline_math(self, body: str) -> str:
            return _mathml(body).replace(' displaystyle="true"', "", 1)

    renderer = Renderer(escape=False, exclude_anchor_links=True, attachments=attachments)
    return MarkdownWithMath(renderer=renderer).render(source)


def _math(latex: str) -> str:
    """Set display math; rows that stand under each other one by one."""
    aligned = _ALIGNED.fullmatch(latex)
    rows = re.split(r"\\\\", aligned.group(2)) if aligned else [latex]
    if aligned:
        rows = [row.replace("&", "").strip() for row in rows]
    return (
        '<span class="math" tabindex="0" role="group" aria-label="formula">'
        + "".join(f"<span>{_mathml(row)}</span>" for row in rows if row)
        + "</span>"
    )


def _mathml(latex: str) -> str:
    """Turn LaTeX into MathML; what cannot be turned stays readable as it is written."""
    latex = " ".join(latex.split())
    try:
        return mathml(latex, latex)
    except Exception:  # latex2mathml raises many kinds for what it cannot read
        return f"<code>{escape(latex)}</code>"
