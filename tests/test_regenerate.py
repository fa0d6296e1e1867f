"""What a program writes is what it would write now, and the test says which command writes it again."""

import pytest

from tests import regenerate

pytestmark = pytest.mark.identity


# The other two have tests of their own, which bear another release of a library: tests/test_evidence.py.
@pytest.mark.parametrize("name", ["forms", "keys", "report-shape", "works"])
def test_file_is_current(name):
    path, made = regenerate.FILES[name]
    assert path.read_text(encoding="utf-8") == made(), regenerate.renew(name)


def test_a_name_that_is_none_is_refused_and_nothing_is_written(capsys):
    assert regenerate.main(["form"]) == 2
    said = capsys.readouterr().out
    assert said.startswith("'form' is nothing that is written here; use forms, keys,")


def test_what_is_current_is_said_to_be_as_it_was(capsys):
    assert regenerate.main(["keys"]) == 0
    assert capsys.readouterr().out == "keys: data/plan-keys.md as it was\n"
