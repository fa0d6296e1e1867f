"""A workbook as one page that prints and opens offline: pictures inside, math without scripts."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape
from pathlib import Path

from aquacalc import __version__
from aquacalc.pages.maths import mathml
from aquacalc.teaching.clean import clean

CSS = """
:root { --ink: #1a1a1a; --soft: #555; --rule: #c9c9c9; --link: #00528a; }
* { box-sizing: border-box; }
html { font: 17px/1.5 system-ui, "Segoe UI", "Liberation Sans", Arial, sans-serif; color: var(--ink);
  background: #fff; }
body { margin: 0 auto; padding: 1.5rem 1.25rem 3rem; max-width: 48rem; overflow-wrap: break-word; }
h1 { font-size: 1.8rem; line-height: 1.2; margin: 0 0 .6rem; }
h2 { font-size: 1.3rem; margin: 2rem 0 .5rem; padding-top: .4rem; border-top: 2px solid var(--ink); }
h3 { font-size: 1.08rem; margin: 1.3rem 0 .3rem; }
a { color: var(--link); }
img, svg { max-width: 100%; height: auto; }
figure { margin: 1rem 0; break-inside: avoid; }
figcaption { color: var(--soft); font-size: .92rem; margin-top: .3rem; }
table { border-collapse: collapse; margin: .8rem 0; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: .25rem .9rem .25rem 0;
  border-bottom: 1px solid var(--rule); }
tbody td { height: 1.9rem; } /* room to write in */
thead th { border-bottom: 2px solid var(--ink); }
.scroll { overflow-x: auto; }
.out { margin: .5rem 0 1rem; }
.out p { margin: .4rem 0; }
.math { display: block; overflow-x: auto; overflow-y: hidden; padding: .25rem 0; }
.math span { display: block; margin: .45rem 0; white-space: nowrap; }
math { font-size: 1.08em; font-family: "STIX Two Math", "Cambria Math", "Latin Modern Math",
  "DejaVu Math TeX Gyre", math; }
pre { font: .86rem/1.4 "DejaVu Sans Mono", Menlo, Consolas, monospace; white-space: pre-wrap;
  margin: .4rem 0; }
.code pre { background: #f4f4f2; padding: .5rem .7rem; }
summary { cursor: pointer; color: var(--soft); font-size: .9rem; }
blockquote { margin: .8rem 0; padding: .1rem 0 .1rem 1rem; border-left: 4px solid var(--rule); }
footer { margin-top: 2.5rem; border-top: 1px solid var(--rule); padding-top: .6rem; color: var(--soft);
  font-size: .9rem; }
@media print {
  @page { margin: 16mm 16mm; }
  html { font-size: 10.5pt; }
  body { max-width: none; padding: 0; }
  a { color: inherit; text-decoration: none; }
  .code { display: none; }
  .scroll, .math { overflow: visible; }
  figure { overflow: visible !important; }
  figure img { min-width: 0 !important; }
  .scroll table { font-size: .8em; }
  h1, h2, h3 { break-after: avoid; }
  tr, pre { break-inside: avoid; }
}
"""
#: How an output is best shown on paper, best first.
SHOWN = ("text/latex", "text/html", "text/markdown", "image/svg+xml", "image/png", "image/jpeg", "text/plain")
_ALIGNED = re.compile(r"\s*\\begin\{(aligned|align\*?)\}(.*)\\end\{\1\}\s*", re.S)
_ANSI = re.compile(r"\x1b\[[0-9;]*m")
_OBJECT = re.compile(r"<.*>|\w+\(.*\)", re.S)


def handout(notebook, name: str, folder: Path) -> str:
    """Write a notebook as one HTML page.

    Parameters
    ----------
    notebook : nbformat.NotebookNode
        With its outputs.
    name : str
        File name of the notebook, for the foot of the page.
    folder : Path
        Where it lies; pictures of its texts are looked for there.

    Returns
    -------
    str
        Style and pictures inside, no script, nothing fetched.
    """
    body = "\n".join(part for cell in notebook.cells for part in _cell(cell, folder) if part)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta name="generator" content="aquacalc {__version__}">\n'
        f"<title>{escape(_title(notebook, name))}</title>\n<style>{CSS}</style>\n</head>\n<body>\n<main>\n"
        f"{body}\n</main>\n<footer><p>Printed from {escape(name)} by aquacalc {__version__}. Estimates, not "
        "a guarantee: try the siphon before you glue it.</p></footer>\n</body>\n</html>\n"
    )


def _title(notebook, name: str) -> str:
    for cell in notebook.cells:
        found = re.search(r"^#\s+(.+)$", cell.source, re.M) if cell.cell_type == "markdown" else None
        if found:
            return found.group(1).strip()
    return name


def _cell(cell, folder: Path) -> Iterator[str]:
    if cell.cell_type == "markdown":
        yield clean(_markdown(cell.source, cell.get("attachments", {})), folder)
    elif cell.cell_type == "code":
        if cell.source.strip():
            yield (f'<details class="code"><summary>code</summary><pre>{escape(cell.source)}</pre></details>')
        for output in cell.outputs:
            shown = _output(output, folder)
            if shown:
                yield f'<div class="out">{shown}</div>'


def _output(output, folder: Path) -> str:
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
    if kind == "text/markdown":
        return clean(_markdown(content, {}), folder)
    if kind == "text/latex":
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
        shown = f'<img src="data:{kind};base64,{"".join(content.split())}" alt="{escape(alt or words)}">'
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
    return '<span class="math">' + "".join(f"<span>{_mathml(row)}</span>" for row in rows if row) + "</span>"


def _mathml(latex: str) -> str:
    """Turn LaTeX into MathML; what cannot be turned stays readable as it is written."""
    latex = " ".join(latex.split())
    try:
        return mathml(latex, latex)
    except Exception:  # latex2mathml raises many kinds for what it cannot read
        return f"<code>{escape(latex)}</code>"
