"""Every workbook as a handout and as a learner's copy."""

import re
from html.parser import HTMLParser

import nbformat
import pytest

from aquacalc.teaching.handout import handout
from aquacalc.teaching.learner import ANSWER, without_answers
from tests.workbook_run import WORKBOOKS, workbooks

BOOKS = workbooks()
NAMES = [p.name for p in BOOKS]


class Seen(HTMLParser):
    """Every start tag with its attributes, and the text outside tags."""

    def __init__(self, page: str):
        super().__init__()
        self.tags: list[tuple[str, dict]] = []
        self.text = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text += data

    def all(self, tag: str) -> list[dict]:
        return [attrs for name, attrs in self.tags if name == tag]


def offline(page: str) -> Seen:
    """Assert that a page neither runs nor fetches anything."""
    seen = Seen(page)
    for tag, attrs in seen.tags:
        assert tag not in ("script", "iframe", "object", "embed", "link", "form", "input", "base")
        for name, value in attrs.items():
            assert not name.startswith("on")
            value = (value or "").strip().lower()
            assert not value.startswith("javascript:")
            if name in ("src", "srcset", "xlink:href", "poster", "data", "action"):
                assert value.startswith(("data:image/", "#"))
            if name == "style":
                assert "http" not in value
    assert "@import" not in page
    assert not re.search(r"url\(\s*['\"]?https?:", page)
    return seen


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_the_handout_holds_all_of_it_and_needs_no_network(path):
    notebook = nbformat.read(path, as_version=4)
    page = handout(notebook, path.name, path.parent)
    seen = offline(page)
    prose = Seen(re.sub(r'<details class="code">.*?</details>', "", page, flags=re.S)).text
    assert "$" not in prose
    assert "\\" not in prose
    assert all(len(i["alt"]) > 40 for i in seen.all("img"))
    text = squeezed(seen.text)
    pictures = 0
    for cell in notebook.cells:
        for heading in re.findall(r"^#+ (.+)$", cell.source if cell.cell_type == "markdown" else "", re.M):
            assert squeezed(heading) in text
        for output in cell.get("outputs", ()):
            data = output.get("data", {})
            latex = data.get("text/latex", "") + data.get("text/markdown", "")
            pictures += "data:image" in data.get("text/html", "") or (
                "image/png" in data and "text/html" not in data
            )
            if output.output_type == "stream":
                assert squeezed(output.text) in text
            if latex:
                assert "math" in page
    assert len(seen.all("img")) + len(seen.all("svg")) >= pictures
    assert "<code>\\" not in page  # no formula that could not be set


@pytest.mark.identity
@pytest.mark.parametrize("path", BOOKS, ids=NAMES)
def test_the_learners_copy_has_no_answers_and_every_question(path):
    notebook = nbformat.read(path, as_version=4)
    made, taken = without_answers(notebook)
    answers = [c for c in notebook.cells if ANSWER in c.metadata.get("tags", ())]
    asked = [c for c in notebook.cells if c.source.startswith("ask(")]
    assert taken >= len(answers)
    assert [c for c in made.cells if c.source.startswith("ask(")] == asked
    assert not any(ANSWER in c.metadata.get("tags", ()) for c in made.cells)
    assert not any(re.search(r"\bsolution\(|<summary>\s*Answer", c.source) for c in made.cells)
    nbformat.validate(made)


@pytest.mark.identity
def test_the_workshops_handout_for_learners_shows_no_answer():
    path = WORKBOOKS / "09-workshop.ipynb"
    made, taken = without_answers(nbformat.read(path, as_version=4))
    assert taken >= 20
    page = handout(made, path.name, path.parent)
    from aquacalc import units
    from aquacalc.teaching.exercise import exercises

    text = Seen(page).text
    for asked in exercises().values():
        if asked.equation:
            assert units.show(asked.answer(), asked.kind) not in text.replace(asked.question(), "")
        else:
            assert asked.why not in text
