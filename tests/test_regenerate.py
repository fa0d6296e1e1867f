"""What a program writes is what it would write now, and the test says which command writes it again."""

import pytest

from tests import regenerate

pytestmark = pytest.mark.identity


# The other two have tests of their own, which bear another release of a library: tests/test_evidence.py.
@pytest.mark.parametrize("name", ["forms", "keys", "report-shape", "works", "engine-js"])
def test_file_is_current(name):
    path, made = regenerate.FILES[name]
    assert path.read_text(encoding="utf-8") == made(), regenerate.renew(name)


def test_a_name_that_is_none_is_refused_and_nothing_is_written(capsys):
    assert regenerate.main(["form"]) == 2
    said = capsys.readouterr().out
    assert said.startswith("'form' is nothing that is written here; use forms, keys,")


def test_what_changed_is_said_and_what_did_not(monkeypatch, tmp_path, capsys):
    target = tmp_path / "keys.md"
    target.write_text("old", encoding="utf-8")
    monkeypatch.setattr(regenerate, "ROOT", tmp_path)
    monkeypatch.setattr(regenerate, "FILES", {"keys": (target, lambda: "new")})
    assert regenerate.main(["keys"]) == 0
    assert target.read_text(encoding="utf-8") == "new"
    assert regenerate.main(["keys"]) == 0
    assert capsys.readouterr().out == "keys: keys.md CHANGED\nkeys: keys.md as it was\n"
