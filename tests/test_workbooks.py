"""Workbooks as committed: run, the same when run again, readable without a kernel, with alt text."""

import ast
import copy
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

from tests.regenerate import renew
from tests.test_workbooks_pages import Seen
from tests.workbook_run import LIVE, WORKBOOKS, tidy, workbooks

ROOT = Path(__file__).resolve().parents[1]
BOOKS = workbooks()
NAMES = [p.name for p in BOOKS]
#: What would differ on another computer or another day.
CHANGING = re.compile(
    r"0x[0-9a-f]{6,}|/home/|/work/|/tmp/|/root/|[A-Z]:\\\\|site-packages|\b20\d\d-\d\d-\d\d|model_id|IPY_MODEL"
)


def read(path):
    return nbformat.read(path, as_version=4)


def code_cells(notebook):
    return [c for c in notebook.cells if c.cell_type == "code"]


def outputs(notebook):
    return [o for c in code_cells(notebook) for o in c.outputs]


def words(notebook) -> str:
    return "\n".join(c.source for c in notebook.cells if c.cell_type == "markdown")


@pytest.mark.identity
def test_names_are_numbered_in_order():
    assert len(BOOKS) >= 5
    assert [n[:2] for n in NAMES] == sorted(n[:2] for n in NAMES)
    assert all(re.fullmatch(r"\d\d-[a-z0-9-]+\.ipynb", n) for n in NAMES)


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_every_cell_was_run_in_order_and_none_failed(path):
    notebook = read(path)
    counts = [c.execution_count for c in code_cells(notebook) if c.source.strip()]
    assert counts == list(range(1, len(counts) + 1))
    assert all(o.output_type != "error" for o in outputs(notebook))
    assert all(o.get("name") != "stderr" for o in outputs(notebook))
    assert notebook.metadata.kernelspec.name == "python3"


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_nothing_in_it_changes_from_run_to_run(path):
    notebook = read(path)
    tidied = copy.deepcopy(notebook)
    tidy(tidied)
    assert json.dumps(tidied, sort_keys=True) == json.dumps(notebook, sort_keys=True)
    text = re.sub(r"data:image/png;base64,[A-Za-z0-9+/=]+", "", nbformat.writes(notebook))
    text = re.sub(r'"image/png": "[^"]*"', "", text)
    assert not CHANGING.search(text), CHANGING.search(text)


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_it_is_readable_without_a_kernel(path):
    for output in outputs(read(path)):
        if output.output_type == "stream":
            continue
        shown = {k: v for k, v in output.data.items() if k != LIVE}
        assert shown.get("text/plain", "").strip()
        assert not shown["text/plain"].startswith("<")


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_every_picture_says_what_it_shows(path):
    for output in outputs(read(path)):
        data = output.get("data", {})
        for image in Seen(data.get("text/html", "")).all("img"):
            assert len(image["alt"]) > 40
        if "image/png" in data and "text/html" not in data:
            assert len(data["text/plain"]) > 40


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_it_says_for_whom_how_long_its_limits_and_its_sources(path):
    notebook = read(path)
    first = notebook.cells[0]
    assert first.cell_type == "markdown"
    assert re.match(rf"# {path.name[:2]} \S", first.source)
    assert "**For**" in first.source
    assert re.search(r"\*\*Time:\*\* .*\bminutes\b", first.source)
    text = words(notebook)
    assert re.search(r"^## .*trust", text, re.M)
    assert "ource" in text
    assert "nvented" in text


#: Lines of code that a reader may be shown at once, rooms that a workbook may take things from.
LINES, ROOMS = 25, 4


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_code_is_short_folded_away_and_taken_from_the_public_face(path):
    rooms = set()
    for cell in code_cells(read(path)):
        assert len(cell.source.splitlines()) <= LINES, cell.source[:60]
        assert cell.metadata.jupyter.source_hidden, cell.source[:60]
        for node in ast.walk(ast.parse(cell.source)):
            if isinstance(node, ast.ImportFrom) and node.module.split(".")[0] == "aquacalc":
                assert node.module.count(".") <= 1, f"{node.module} is the inside of a room"
                rooms.add(node.module)
            assert not isinstance(node, ast.Import) or node.names[0].name.split(".")[0] != "aquacalc"
    assert len(rooms) <= ROOMS, rooms


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_a_guess_is_asked_for_first_met_again_and_the_next_page_is_a_link(path):
    notebook = read(path)
    cells = [c.source for c in code_cells(notebook)]
    asked = [k for k, source in enumerate(cells) if source.startswith("guess(")]
    assert asked, "no guess"
    assert asked[0] <= 3
    assert "guesses()" in cells[asked[-1] + 1 :]
    for link in re.findall(r"\]\(([^)]*\.ipynb)\)", words(notebook)):
        assert (WORKBOOKS / link).exists(), link
    number = BOOKS.index(path)
    if number + 1 < len(BOOKS):
        assert f"({BOOKS[number + 1].name})." in notebook.cells[-1].source


#: A value in metric units in a text, and the same in US units after it.
METRIC = re.compile(r"\d (?:mm|cm|m|L/min|L|kg|cm²|m²)(?![\w/²³])")
US = re.compile(r"\d (?:in|ft|gpm|gal|qt|lb|sq in|sq ft)\b")


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_texts_give_values_in_both_systems_of_units(path):
    """A switch of units reaches panels and tables; a text stays as it is, so it has to have both."""
    for cell in read(path).cells:
        if cell.cell_type != "markdown" or ("ources\n" in cell.source and "trust" not in cell.source):
            continue
        for line in cell.source.splitlines():
            if METRIC.search(line) and not re.match(r"- .*(paper|Technical|Sources)", line):
                assert US.search(line), line


def nbval(*paths, cwd, workers=0):
    """Compare notebooks with what they give when run now; {(notebook, code cell number): passed}."""
    command = [sys.executable, "-m", "pytest", "--nbval", "--nbval-current-env", "--nbval-cell-timeout=600"]
    command += ["--nbval-sanitize-with", str(ROOT / "tests" / "workbook_sanitize.cfg")]
    command += ["-p", "no:cacheprovider", "-c", os.devnull, "--rootdir", str(cwd), "-rA", "--no-header"]
    command += ["-n", str(workers), "--dist", "loadfile"] if workers else ["-p", "no:xdist"]
    done = subprocess.run([*command, *map(str, paths)], cwd=cwd, capture_output=True, text=True)
    lines = re.findall(r"^(PASSED|FAILED) (\S+\.ipynb)::Cell (\d+)", done.stdout, re.M)
    assert lines, done.stdout[-3000:] + done.stderr[-3000:]
    return {(Path(name).name, int(cell)): verdict == "PASSED" for verdict, name, cell in lines}


@pytest.mark.pinned
@pytest.mark.timeout(600)
def test_every_cell_gives_what_is_printed():
    seen = nbval(*BOOKS, cwd=WORKBOOKS, workers=2)
    wanted = {(p.name, k) for p in BOOKS for k in range(len(code_cells(read(p))))}
    assert set(seen) == wanted
    assert not [cell for cell, passed in sorted(seen.items()) if not passed], renew("workbooks")


def spoil(notebook, kind: str, pattern: str, new: str) -> int:
    """Change one place of one output; the number of its code cell."""
    for number, cell in enumerate(code_cells(notebook)):
        for output in cell.outputs:
            held = output.get("data", {})
            if kind not in held:
                continue
            changed = re.sub(pattern, new, held[kind], count=1)
            if changed != held[kind]:
                held[kind] = changed
                return number
    raise AssertionError(f"no {kind} with {pattern}")


@pytest.mark.identity
@pytest.mark.timeout(300)
def test_one_changed_number_line_or_word_fails_exactly_its_cell(tmp_path):
    path = WORKBOOKS / "03-friction-bends-and-drain-lines.ipynb"
    notebook = read(path)
    spoilt = {
        "line of LaTeX": spoil(notebook, "text/latex", r"Answer: Speed", r"Answer: Slowness"),
        "text of a panel": spoil(notebook, "text/plain", r"Head lost: 67\.7 mm", "Head lost: 67.8 mm"),
        "formula of a panel": spoil(notebook, "text/html", r"Re = v × D", r"Re = w × D"),
        "cell of a table": spoil(notebook, "text/html", r">0\.51<", ">0.52<"),
        "alt text of a picture": spoil(notebook, "text/html", r'alt="Head lost', 'alt="Head gained'),
    }
    assert len(set(spoilt.values())) == len(spoilt)
    nbformat.write(notebook, tmp_path / path.name)
    seen = nbval(tmp_path / path.name, cwd=tmp_path)
    assert len(seen) == len(code_cells(notebook))
    assert sorted(cell for (_, cell), passed in seen.items() if not passed) == sorted(spoilt.values())
