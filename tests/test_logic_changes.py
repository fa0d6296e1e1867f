"""The program that changes logic at random: one change is one change, and where it may be made."""

import ast
import io
import itertools
import json
import random
import tokenize
from pathlib import Path

import pytest

from tests.logic_changes import changes, made
from tests.logic_lines import Lines, batches
from tests.logic_mutation import ROOT, interpreted, sample, survivors
from tests.logic_patch import exchanged, put_in

pytestmark = pytest.mark.identity

SOURCE = '''"""Text with a - b and 1 in it."""
import math

LIMIT: "int | None" = 1


def rest(depth: float = 0.0, *, deep=True) -> list[1]:
    """Say 1 + 1."""
    low = -depth  # a - sign
    if not deep and low < 1.0:
        return min(low, (depth) - 2.0 * low)
    draw(low, color=0, lw=1 + 1)
    return "a" + f"{low:.1f}" if deep is None else depth ** 2


if __name__ == "__main__":
    rest(1)
'''


def test_every_change_of_a_small_source():
    """Read off the source by hand."""
    found = [(c.line, c.before, c.after) for site in changes(SOURCE) for c in site]
    assert found == [
        (4, "1", "0"),
        (7, "0.0", "1.0"),
        (7, "True", "False"),
        (9, "-", ""),
        (10, "not ", ""),
        (10, "and", "or"),
        (10, "<", "<="),
        (10, "<", ">"),
        (10, "1.0", "0.0"),
        (11, "min", "max"),
        (11, "-", "+"),
        (11, "*", "/"),
        (13, "is", "is not"),
        (13, "**", "*"),
    ]


def tokens(source: str) -> list[str]:
    return [token.string for token in tokenize.generate_tokens(io.StringIO(source).readline)]


def alike(one: list[str], other: list[str]) -> int:
    """How many tokens are the same from the start."""
    pairs = zip(one, other, strict=False)
    return sum(1 for _ in itertools.takewhile(lambda pair: pair[0] == pair[1], pairs))


FILES = sorted((ROOT / "aquacalc").rglob("*.py"))


@pytest.mark.parametrize("path", random.Random(5).sample(FILES, 25), ids=lambda p: str(p.relative_to(ROOT)))
def test_a_change_of_the_library_is_one_change_and_can_be_read(path: Path):
    source = path.read_text(encoding="utf-8")
    was = tokens(source)
    tree = ast.dump(ast.parse(source))
    for change in [c for site in changes(source) for c in site][::7]:
        text = made(source, change)
        assert ast.dump(ast.parse(text)) != tree, change
        now = tokens(text)
        same = alike(was, now)
        behind = alike(was[same:][::-1], now[same:][::-1])
        old, new = was[same : len(was) - behind], now[same : len(now) - behind]
        inside_text = len(old) == len(new) == 1 and old[0].startswith(("f", "rf"))
        assert inside_text or (len(old) <= 2 and len(new) <= 2), (change, old, new)


def test_a_place_that_moved_is_refused():
    change = changes(SOURCE)[0][0]
    with pytest.raises(ValueError, match="line 4 does not hold '1' any more"):
        made("# new line\n" + SOURCE, change)


def test_a_seed_is_one_sample_and_only_keeps_to_its_files():
    one, again, other = (sample(ROOT, seed, 8, "aquacalc/report") for seed in (3, 3, 4))
    assert one == again
    assert one != other
    assert {Path(s.file).parts[1] for s in one} == {"report"}
    assert [s.number for s in one] == list(range(8))


def test_what_survived_is_found_again_by_its_line(tmp_path, capsys):
    """Moved by two lines; noticed; no longer there."""
    (tmp_path / "x.py").write_text("# new\n# new\n" + SOURCE, encoding="utf-8")
    results = [
        {
            "place": "0: x.py:9: - -> ",
            "before": "low = -depth  # a - sign",
            "after": "low = depth  # a - sign",
        },
        {"place": "1: x.py:11: min -> max", "before": "", "after": "", "noticed": "a test"},
        {"place": "2: x.py:9: + -> -", "before": "high = a + b", "after": "high = a - b"},
    ]
    kept = tmp_path / "kept.jsonl"
    lines = [json.dumps({"number": n, "noticed": "", "same": "", **of}) for n, of in enumerate(results)]
    kept.write_text("\n".join(lines), encoding="utf-8")
    assert [(one.number, one.change.line, one.change.before) for one in survivors(tmp_path, kept)] == [
        (0, 11, "-")
    ]
    assert capsys.readouterr().out == "2: x.py:9: + -> -: is no longer there\n"


WHOLE = """import functools
LIMIT = 1


@functools.cache
def kept(x, by=0.0):
    return [part - by for part in range(x)]


class One:
    @property
    def size(self):
        def inside(y):
            return y * 2.0
        return inside(LIMIT)
"""


@pytest.mark.parametrize(
    ("change", "found"),
    [(("- by", "+ by"), {"kept(3, 1.0)": [1.0, 2.0, 3.0]}), (("y * 2.0", "y / 2.0"), {"One().size": 0.5}),
     (("by=0.0", "by=1.0"), None), (("LIMIT = 1", "LIMIT = 0"), None)],
)  # fmt: skip
def test_code_is_exchanged_in_a_module_that_is_imported(change, found):
    """In a cached function, a property's inner function; not what only an import does."""
    module, changed = {"__name__": "whole"}, WHOLE.replace(*change)
    exec(compile(WHOLE, "whole.py", "exec"), module)
    new = exchanged("whole.py", WHOLE, changed)
    assert (new is None) == (found is None)
    for asked, value in (found or {}).items():
        assert eval(asked, module) != value
        module["kept"].cache_clear()
        assert put_in("whole.py", new)
        assert eval(asked, module) == value


def test_tests_are_chosen_by_the_lines_they_run():
    """The package's own and the quickest first, one of each function, then the others of the same files."""
    seconds = {f"{name}.py::{test}": cost for name, test, cost in (
        ("report/c", "one[2]", 2.0), ("report/c", "one[1]", 1.0), ("report/c", "two", 3.0),
        ("report/c", "other", 0.1), ("design/a", "one", 0.1), ("design/b", "one", 0.1),
    )}  # fmt: skip
    runs = {"report/c": {9: [0, 1], 11: [0, 1, 2]}, "design/a": {11: [0]}, "design/b": {12: [0], 9: [-1]}}
    source = "aquacalc/report/x.py"
    known = []
    for name, at in runs.items():
        own = {test: cost for test, cost in seconds.items() if test.startswith(name)}
        known.append(Lines(f"{name}.py", own, {source: at}))
    assert batches(known, source, {11}, 100.0) == [
        ["report/c.py::one[1]", "report/c.py::two", "report/c.py::one[2]"], ["design/a.py::one"],
        ["report/c.py::other"],
    ]  # fmt: skip
    assert batches(known, source, {11}, 2.5) == [["report/c.py::one[1]"], ["design/a.py::one"]]
    assert batches(known[2:], source, {9}, 2.0) == [["design/b.py::one"]]  # an import runs it, and so any may
    assert batches(known, source, {10}, 100.0) == []


def test_a_change_of_the_kernels_is_interpreted():
    assert interpreted("aquacalc/engine/step.py")
    assert not interpreted("aquacalc/engine/runner.py")
