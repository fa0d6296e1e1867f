"""The handout fetches and runs nothing, keeps math, pictures and words; a learner's copy has no answers."""

import base64
import re

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from aquacalc.__main__ import main
from aquacalc.teaching.clean import clean
from aquacalc.teaching.handout import handout
from aquacalc.teaching.learner import without_answers
from tests.test_workbooks_pages import Seen, offline

DOT = base64.b64encode(
    bytes.fromhex(
        "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c4890000000d49444154789c636060606000000005"
        "0001a5f645400000000049454e44ae426082"
    )
).decode()


def output(**data):
    metadata = data.pop("metadata", {})
    bundle = {k.replace("__", "/").replace("_xml", "+xml"): v for k, v in data.items()}
    return new_output("display_data", data=bundle, metadata=metadata)


def book(*cells):
    return new_notebook(cells=list(cells))


TEXT = "# Lips & bores\n\nFlow $Q = C_w \\pi D h^{1.5}$ over a lip.\n\n| a | b |\n|---|---|\n| 1 | 2 |"
ROWS = "A &= \\frac{\\pi D^{2}}{4} \\\\\nA &= 13.1\\,\\mathrm{cm^{2}}"
FOLDED = "Before.\n\n<details><summary>Answer</summary>\n\nForty-two.\n\n</details>\n\nAfter."


@pytest.fixture
def sample():
    dot = {"image/png": {"alt": "A dot."}}
    latex = f"$$\n\\begin{{aligned}}\n{ROWS}\n\\end{{aligned}}\n$$"
    shown = [
        output(image__png=DOT, text__plain="Starts at 9.4 L/min.", metadata=dot),
        output(text__latex=latex, text__plain="A = 13.1 cm²"),
        new_output("stream", name="stdout", text="three beds\n"),
    ]
    answer = [output(text__plain="42 cm²")]
    return book(
        new_markdown_cell(TEXT),
        new_code_cell("show(1 < 2)", execution_count=1, outputs=shown),
        new_code_cell("tell()", metadata={"tags": ["answer"]}, execution_count=2, outputs=answer),
        new_code_cell('solution("it")', execution_count=3, outputs=answer),
        new_markdown_cell("For the teacher's eyes.", metadata={"tags": ["teacher"]}),
        new_markdown_cell(FOLDED),
    )


@pytest.mark.identity
def test_math_pictures_words_and_code_are_in_the_page(sample, tmp_path):
    page = handout(sample, "lips.ipynb", tmp_path)
    seen = offline(page)
    assert len(seen.all("math")) == 3  # one in the text, two rows of the calculation
    assert "mfrac" in page
    assert [i["alt"] for i in seen.all("img")] == ["A dot."]
    for words in (
        "Lips & bores",
        "Starts at 9.4 L/min.",
        "three beds",
        "show(1 < 2)",
        "lips.ipynb",
        "After.",
    ):
        assert words in seen.text
    assert "<title>Lips &amp; bores</title>" in page
    assert len(seen.all("td")) == 2


@pytest.mark.identity
def test_the_page_is_the_same_when_written_again(sample, tmp_path):
    assert handout(sample, "a.ipynb", tmp_path) == handout(sample, "a.ipynb", tmp_path)


@pytest.mark.identity
@pytest.mark.parametrize(
    "nasty",
    [
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
        "<img src='https://example.invalid/a.png' alt='a cat'>",
        "<svg><script>alert(1)</script><style>@import url(https://example.invalid)</style></svg>",
        "<svg><style><img src=x onerror=alert(1)></style></svg>",
        "<svg><image href='https://example.invalid/a.png'/></svg>",
        "<svg><foreignObject><iframe src='https://example.invalid'></iframe></foreignObject></svg>",
        "<a href='java\nscript:alert(1)'>x</a>",
        "<div style=\"background:url('https://example.invalid')\">x</div>",
        "<scr<script>ipt>alert(1)</script>",
        "<form action='https://example.invalid'><input autofocus onfocus=alert(1)></form>",
        "<link rel=stylesheet href='https://example.invalid'><meta http-equiv=refresh content='0;url=https://x'>",
        "<object data='https://example.invalid'></object><embed src='https://example.invalid'>",
        "<img src=x onerror=alert(1) ",
        "<math><annotation-xml encoding='text/html'><img src=x onerror=alert(1)></annotation-xml></math>",
        '<p data-x="1" onclick="alert(1)">x</p>',
        f'{DOT}" onload="alert(1)" x="',
        f'{DOT}"><script>alert(1)</script><img src="',
    ],
)
def test_nothing_runs_and_nothing_is_fetched(nasty, tmp_path):
    cells = (
        new_markdown_cell(nasty),
        new_code_cell("1", outputs=[output(text__html=nasty), output(image__svg_xml=nasty)]),
        new_code_cell("2", outputs=[output(image__png=nasty), output(image__jpeg=nasty)]),
        new_markdown_cell("![a](attachment:a.png)", attachments={"a.png": {"image/png": nasty}}),
    )
    page = handout(book(*cells), "x.ipynb", tmp_path)
    seen = offline(page)
    assert "alert" not in " ".join(str(attrs) for _, attrs in seen.tags)
    assert not seen.all("script")
    assert "Content-Security-Policy" in {meta.get("http-equiv") for meta in seen.all("meta")}
    assert len(seen.all("html")) == 1
    assert page.rstrip().endswith("</html>")


@pytest.mark.identity
@pytest.mark.parametrize("command", ["handout", "learner"])
def test_a_workbook_of_eight_megabytes_is_refused_before_it_is_read(command, tmp_path, capsys, monkeypatch):
    path, target = tmp_path / "big.ipynb", tmp_path / "out"
    text = nbformat.writes(book(new_markdown_cell("# Big")))
    path.write_text(text + " " * (8_000_000 - len(text)), encoding="utf-8")
    assert main([command, str(path), "--out", str(target)]) == 0
    path.write_text(text + " " * (8_000_001 - len(text)), encoding="utf-8")
    monkeypatch.setattr(nbformat, "read", None)
    monkeypatch.setattr(nbformat, "reads", None)
    assert main([command, str(path), "--out", str(tmp_path / "other")]) == 2
    assert re.fullmatch(rf"aquacalc: {path}: is over 8 MB\. Fix: .*\n", capsys.readouterr().err)
    assert not (tmp_path / "other").exists()


@pytest.mark.identity
def test_a_picture_beside_the_workbook_is_taken_in_and_others_become_words(tmp_path):
    (tmp_path / "here").mkdir()
    (tmp_path / "here" / "dot.png").write_bytes(base64.b64decode(DOT))
    (tmp_path / "secret.png").write_bytes(base64.b64decode(DOT))
    shown = clean(
        '<img src="dot.png" alt="a dot"><img src="../secret.png" alt="not ours">', tmp_path / "here"
    )
    assert f'<img src="data:image/png;base64,{DOT}" alt="a dot">' in shown
    assert "[picture: not ours]" in shown
    assert shown.count("<img") == 1


@pytest.mark.identity
def test_links_to_sources_stay_and_links_to_other_workbooks_do_not():
    shown = clean('<a href="https://example.org/x">source</a> <a href="01-why.ipynb">01</a>', None)
    assert shown == '<a href="https://example.org/x">source</a> <a>01</a>'


@pytest.mark.identity
@pytest.mark.parametrize(
    ("alt", "words", "caption"),
    [
        ("A dot.", "Starts.", ["Starts."]),
        ("A dot.", "A dot.", []),
        ("A dot.", "", []),
        ("", "Starts.", ["Starts."]),
    ],
)
def test_a_caption_says_more_than_the_picture(tmp_path, alt, words, caption):
    shown = output(image__png=DOT, text__plain=words, metadata={"image/png": {"alt": alt}})
    page = offline(handout(book(new_code_cell("show()", outputs=[shown])), "a.ipynb", tmp_path))
    assert [image["alt"] for image in page.all("img")] == [alt or words]
    assert len(page.all("figcaption")) == len(caption)
    assert page.text.count(words) == len(caption) or not words


@pytest.mark.identity
def test_the_learners_copy_has_no_answer_and_everything_else(sample):
    made, taken = without_answers(sample)
    text = nbformat.writes(made)
    assert taken == 3
    assert "teacher" not in text
    assert "42 cm" not in text
    assert "Forty-two" not in text
    assert "After." in text
    assert "Starts at 9.4 L/min." in text
    assert len(made.cells) == len(sample.cells) - 3
    assert "42 cm²" in nbformat.writes(sample)


@pytest.fixture
def saved(sample, tmp_path):
    path = tmp_path / "lips.ipynb"
    nbformat.write(sample, path)
    return path


@pytest.mark.identity
def test_commands_write_and_do_not_overwrite(saved, tmp_path, capsys):
    page, copy = tmp_path / "lips.html", tmp_path / "copy.ipynb"
    assert main(["handout", str(saved), "--out", str(page)]) == 0
    assert main(["learner", str(saved), "--out", str(copy)]) == 0
    assert "3 answers taken out" in capsys.readouterr().out
    offline(page.read_text(encoding="utf-8"))
    nbformat.validate(nbformat.read(copy, as_version=4))
    before = copy.read_bytes()
    assert main(["learner", str(saved), "--out", str(copy)]) == 2
    assert "there already" in capsys.readouterr().err
    assert main(["handout", str(saved), "--out", str(copy)]) == 2
    assert copy.read_bytes() == before
    assert main(["learner", str(saved), "--out", str(saved), "--force"]) == 2
    assert main(["handout", str(saved), "--out", str(page)]) == 0  # our own page may be written again
    learners = tmp_path / "learner.html"
    assert main(["handout", str(copy), "--out", str(learners)]) == 0
    printed = learners.read_text(encoding="utf-8")
    assert "42" not in Seen(printed).text
    assert 0 < printed.find("<p>Name: ") < printed.find("<h1")  # a line for the learner's name, first of all


@pytest.mark.identity
@pytest.mark.parametrize("command", ["handout", "learner"])
@pytest.mark.parametrize(
    "content", [None, b"", b"not json", b"{}", b'{"cells": 3, "nbformat": 4}', b"\xff\xfe\x00"]
)
def test_what_is_no_workbook_is_said_in_one_line(command, content, tmp_path, capsys):
    path = tmp_path / "x.ipynb"
    if content is not None:
        path.write_bytes(content)
    assert main([command, str(path), "--out", str(tmp_path / "out")]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "Fix:" in error
    assert not (tmp_path / "out").exists()


@pytest.mark.identity
def test_cells_that_were_not_run_are_counted(tmp_path, capsys):
    nbformat.write(book(new_code_cell("1 + 1"), new_code_cell("")), tmp_path / "x.ipynb")
    assert main(["handout", str(tmp_path / "x.ipynb"), "--out", str(tmp_path / "x.html")]) == 0
    assert "1 cells have not been run" in capsys.readouterr().out


@pytest.mark.identity
def test_only_pictures_carry_content_in_their_address():
    data = f"data:image/png;base64,{DOT}"
    kept = clean(f'<svg><image href="{data}"></image><a href="#here">b</a></svg><a href="{data}">c</a>', None)
    assert kept == f'<svg><image href="{data}"></image><a href="#here">b</a></svg><a>c</a>'
    for kind, address in (("image", "https://example.org/x.png"), ("use", data), ("a", "data:text/html,x")):
        assert "href" not in clean(f'<svg><{kind} href="{address}"></{kind}></svg>', None), kind
