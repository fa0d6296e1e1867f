"""A guess is kept before the answer, cannot be changed, and is met again."""

import pytest

from aquacalc.teaching import guess, guesses

WHICH = "which-starts-lower"


@pytest.fixture(autouse=True)
def nothing_guessed(monkeypatch):
    for name, empty in (("_given", {}), ("_asked", {}), ("_open", [])):
        monkeypatch.setattr(f"aquacalc.teaching.guessing.{name}", empty)


@pytest.mark.identity
def test_a_guess_is_kept_and_met_again():
    one = guess(WHICH)
    assert one.box is not None
    end = guesses()
    assert "gave no guess" in end.lines[0]
    one.button.click()
    assert "Choose one first" in one.reply.value
    one.choice.value = "the plain one"
    assert "You guessed" not in end.box.value
    one.button.click()
    assert "You guessed: the plain one. It is: both at the same flow, because" in end.box.value
    assert (one.choice.disabled, one.button.disabled) == (True, True)
    one.give("both at the same flow")  # the first one counts
    assert "You guessed: the plain one." in end.lines[0]
    again = guess(WHICH)  # the cell is run again
    assert (again.box.children[1].value, again.choice.disabled) == ("the plain one", True)


@pytest.mark.identity
def test_the_question_does_not_give_the_answer_away():
    bundle = guess(WHICH)._repr_mimebundle_()
    assert "because" not in str(bundle)
    assert "the bore decides" not in str(bundle)
    with pytest.raises(KeyError, match="no question"):
        guess("which")
