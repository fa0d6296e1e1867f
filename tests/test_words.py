"""What a user reads is plain English: no word of the list in DEVELOPERS.md comes back."""

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import sentences

pytestmark = pytest.mark.identity
ROOT = Path(__file__).parents[1]
#: Files of text that users read, whole.
TEXTS = (
    "README.md",
    "aquacalc/**/*.toml",
    "aquacalc/**/*.csv",
    "data/*.md",
    "data/*.toml",
    "data/plans/*.toml",
)


def word_list() -> list[tuple[str, str]]:
    """Return (pattern, what to write instead) of the table of words."""
    part = (
        (ROOT / "DEVELOPERS.md")
        .read_text(encoding="utf-8")
        .partition("\n## Words\n")[2]
        .partition("\n## ")[0]
    )
    rows = re.findall(r"^\| `(.+)` \| (.+) \|$", part, re.M)
    return [(pattern.replace(r"\|", "|"), instead) for pattern, instead in rows]


def strings_of(source: str) -> Iterator[tuple[int, str]]:
    """Yield (line, text) of each string of a module that is not documentation; what is put in is "{}"."""
    tree = ast.parse(source)
    skip = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            skip.add(id(node.value))
        if isinstance(node, ast.JoinedStr):
            skip |= {id(part) for part in node.values}
            yield node.lineno, "".join(p.value if isinstance(p, ast.Constant) else "{}" for p in node.values)
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skip:
            yield node.lineno, node.value


def read_by_users() -> Iterator[tuple[str, str]]:
    """Yield (place, text) of everything that a user reads."""
    for path in sorted((ROOT / "aquacalc").rglob("*.py")):
        for line, text in strings_of(path.read_text(encoding="utf-8")):
            yield f"{path.relative_to(ROOT)}:{line}", text
    for pattern in TEXTS:
        for path in sorted(ROOT.glob(pattern)):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                yield f"{path.relative_to(ROOT)}:{number}", line
    for path in sorted((ROOT / "workbooks").glob("*.ipynb")):
        for number, cell in enumerate(json.loads(path.read_text(encoding="utf-8"))["cells"]):
            source = "".join(cell["source"])
            if cell["cell_type"] == "markdown":
                yield f"{path.name}, cell {number}", source
            else:
                for line, text in strings_of(
                    "\n".join(x for x in source.splitlines() if not x.startswith("%"))
                ):
                    yield f"{path.name}, cell {number}, line {line}", text


def test_no_word_of_the_list_comes_back():
    words = [(re.compile(pattern, re.I), instead) for pattern, instead in word_list()]
    assert len(words) > 12
    found = [
        f'{place}: "{text[max(0, hit.start() - 40) : hit.end() + 20]}"; write: {instead}'
        for place, text in read_by_users()
        for pattern, instead in words
        for hit in pattern.finditer(text)
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("text", "caught"),
    [
        ("0.899 L/min in hand", True),
        ("0.9 L/min to spare", False),
        ('"bed 9" is no bed of this plan', True),
        ('"bed 9" is not a bed of this plan', False),
        ("there is no such file", False),
        ("The sump stands at 0.2 m.", True),
        ("The water stands 20 mm over the lip.", False),
        ("the reckoned value", True),
        ("Between the two nobody can say.", True),
    ],
)
def test_list_catches_the_word_and_not_the_plain_one(text, caught):
    assert any(re.search(pattern, text, re.I) for pattern, _ in word_list()) == caught


def test_sentences_made_from_parts_fit_together():
    """Thirty plans, metric and US, one bed and several, one siphon and two; no advice is run here."""
    found = list(sentences.every(runs=0))
    assert len({name for name, _ in found}) > 20
    for name, words in found:
        assert not re.search(r"  | [.,;:)]|\.\.|\( |None|nan|\{|\}|\b(\w+) \1\b(?! and)", words), (
            name,
            words,
        )
        assert not re.search(
            r"\bof siphon\b(?! [A-Z\d])|\ba [aeio]\w+ (pipe|hole)|\b1 \w+s an hour", words
        ), (name, words)
        assert words[0].isupper() or words[0].isdigit(), (name, words)
