"""What readers are shown is what it was, page by page: words, numbers, where a line of a drawing is."""

import pytest

from tests.notebook.conftest import fresh_panels
from tests.shown import kept
from tests.shown.lines import differ, lines
from tests.shown.pages import PAGES

__all__ = ["fresh_panels"]


@pytest.mark.pinned
@pytest.mark.parametrize("name", PAGES)
def test_what_is_shown_is_as_it_was(name):
    now = kept.shown(name)
    inside = [line for page in now.values() for line in page if " object at 0x" in line]
    assert not inside, "something that Python made is shown instead of its words"
    found = kept.differences(name, now)
    assert not found, "\n".join([*found, f"If that is meant: {kept.COMMAND}"])


@pytest.mark.identity
def test_every_page_is_kept_and_nothing_else():
    files = {kept.subject(name) for name in PAGES}
    assert {path.stem for path in kept.FOLDER.glob("*.xz")} == files
    assert {name for of in files for name in kept.stored(of)} == set(PAGES)


@pytest.mark.identity
@pytest.mark.parametrize(
    ("was", "now", "differs"),
    [
        ("level 12.3 mm", "level 12.4 mm", False),
        ("level 12.3 mm", "level 12.5 mm", True),
        ("level 12.3 mm", "level 12.3 in", True),
        ("3 beds", "4 beds", True),
        ("450 mm", "451 mm", False),
        ("450 mm", "452 mm", True),
        ("-450 mm", "450 mm", True),
        ("size 1-1/2 in", "size 1-1/4 in", True),
        ("0.1234567", "0.1234568", False),
        ("#1f77b4", "#1f77b5", True),
        ("one line", "one line\nand another", True),
    ],
)
def test_a_difference_is_more_than_one_in_the_last_digit(was, now, differs):
    assert (differ(lines("a", was), lines("a", now)) is not None) is differs


@pytest.mark.identity
def test_of_a_page_words_and_places_are_looked_at_and_style_is_not():
    markup = '<style>p { x: 1 }</style><p class="a">two <b>words</b></p><path d="M1.5,2L-3,4"/>'
    assert lines("a.html", markup) == [
        '<p class="a">', "two", "<b>", "words", "</b>", "</p>", '<path d="M 1.5 2 L -3 4"/>',
    ]  # fmt: skip
    assert lines("a.json", '{"a": [0.123456789012, 1]}') == ["{", '"a": [', "0.1234568,", "1", "]", "}"]
