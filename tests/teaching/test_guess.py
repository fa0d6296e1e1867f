"""A guess is kept before the answer, in a file beside the page, cannot be changed, and is met again."""

import json

import pytest

from aquacalc.teaching import guess, guesses
from aquacalc.teaching.guessing import questions

WHICH = "which-starts-lower"


@pytest.fixture(autouse=True)
def nothing_guessed(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    for name, empty in (("_asked", {}), ("_open", [])):
        monkeypatch.setattr(f"aquacalc.teaching.guessing.{name}", empty)


@pytest.mark.identity
def test_a_guess_is_kept_and_met_again(tmp_path):
    one = guess(WHICH)
    assert one.box is not None
    end = guesses()
    assert "No guess yet" in end.lines[0]
    assert "because" not in end.lines[0]  # nothing is told before a guess is given
    one.button.click()
    assert "Choose one first" in one.reply.value
    one.choice.value = "the plain one"
    assert "You guessed" not in end.box.value
    one.button.click()
    assert "You guessed: the plain one. It is: both at the same flow, because" in end.box.value
    assert (one.choice.disabled, one.button.disabled) == (True, True)
    one.give("both at the same flow")  # the first one counts
    assert "You guessed: the plain one." in end.lines[0]
    assert json.loads((tmp_path / "my-guesses.json").read_text()) == {WHICH: 0}


@pytest.mark.identity
def test_a_guess_outlives_the_kernel(monkeypatch):
    one = guess(WHICH)
    one.box.children[1].value = "the plain one"
    one.button.click()
    monkeypatch.setattr("aquacalc.teaching.guessing._asked", {})  # as a new kernel has it
    again = guess(WHICH)
    assert (again.box.children[1].value, again.choice.disabled) == ("the plain one", True)
    assert "You guessed: the plain one." in guesses().lines[0]
    other = guess("wide-all-the-way")
    other.box.children[1].value = other.asked.right
    other.button.click()
    assert "So it is, because" in guesses().lines[1]


@pytest.mark.identity
@pytest.mark.parametrize("content", ["", "[1]", '{"which-starts-lower": 9}', '{"which-starts-lower": "a"}'])
def test_a_file_that_is_none_gives_no_guess(content, tmp_path):
    (tmp_path / "my-guesses.json").write_text(content)
    one = guess(WHICH)
    assert one.box.children[1].value is None
    assert "No guess yet" in guesses().lines[0]


@pytest.mark.identity
def test_a_guess_that_cannot_be_written_is_said(tmp_path):
    (tmp_path / "my-guesses.json").mkdir()
    one = guess(WHICH)
    one.box.children[1].value = "the plain one"
    one.button.click()
    assert "is a folder. Fix:" in one.reply.value
    assert not one.button.disabled


@pytest.mark.identity
def test_the_question_does_not_give_the_answer_away():
    for key, asked in questions().items():
        bundle = str(guess(key)._repr_mimebundle_())
        assert "because" not in bundle
        assert asked.why not in bundle
        assert len(set(asked.choices)) == len(asked.choices) == 3, key
    with pytest.raises(KeyError, match="no question"):
        guess("which")
