"""The report's page: well-formed, offline, whole, and every number opens into its calculation."""

from __future__ import annotations

import functools
import math
import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from aquacalc.pages.maths import Workings, mathml
from aquacalc.pages.skeleton import style
from aquacalc.report import summary
from aquacalc.report.html import page
from aquacalc.report.records import shown
from aquacalc.report.text import verdict
from tests.report.test_text import report

pytestmark = pytest.mark.identity
NAMES = ("greenhouse", "spills-without-starting", "sump-overflows", "two-groups", "us-units", "inside-bed")
VOID = {"meta", "br", "hr", "img", "input", "link"}


class Reader(HTMLParser):
    """Reads a page strictly: every element that opens must close, in order."""

    def __init__(self, text: str):
        super().__init__()
        self.open: list[tuple[str, dict]] = []
        self.elements: list[tuple[str, dict, tuple[str, ...]]] = []
        self.words: list[tuple[str, tuple[str, ...]]] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), (tag, names)
        self.elements.append((tag, dict(attrs), tuple(name for name, _ in self.open)))
        if tag not in VOID:
            self.open.append((tag, dict(attrs)))

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs), tuple(name for name, _ in self.open)))

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> closes nothing"
        assert self.open[-1][0] == tag, f"</{tag}> closes <{self.open[-1][0]}>"
        self.open.pop()

    def handle_data(self, data):
        self.words.append((data, tuple(name for name, _ in self.open)))

    def of(self, tag):
        return [attrs for name, attrs, _ in self.elements if name == tag]

    def text(self):
        """All that is read, minus signs as the report's text has them."""
        shown = " ".join(" ".join(words for words, where in self.words if "style" not in where).split())
        return shown.replace("−", "-")


@functools.cache
def written(name):
    return page(report(name))


def test_a_minus_is_no_hyphen():
    assert "the sump is down to −0.117 m" in written("greenhouse")


@functools.cache
def read(name):
    return Reader(written(name))


@pytest.mark.parametrize("name", NAMES)
def test_page_is_well_formed_and_fetches_nothing(name):
    text, reader = written(name), read(name)
    assert text.startswith('<!DOCTYPE html>\n<html lang="en">')
    tags = {tag for tag, _, _ in reader.elements}
    assert not tags & {"script", "link", "img", "iframe", "object", "embed", "base", "form", "audio", "video"}
    for tag, attrs, _ in reader.elements:
        for key, value in attrs.items():
            if key.startswith("xmlns"):
                continue
            assert not key.startswith("on")
            assert "://" not in (value or ""), (tag, key, value)
            assert not re.search(r"url\((?!#)", value or "")
            if key in ("href", "xlink:href"):
                assert value.startswith("#")
            assert key not in ("src", "srcset", "action", "data")
    assert "@import" not in text
    assert "url(" not in style()
    assert "@font-face" not in style()
    assert reader.text().count("http") == 0
    ids = [attrs["id"] for _, attrs, _ in reader.elements if "id" in attrs]
    assert len(ids) == len(set(ids))
    targets = {v[1:] for _, a, _ in reader.elements for k, v in a.items() if k.endswith("href")}
    assert targets <= set(ids)
    labelled = {v for _, a, _ in reader.elements for k, v in a.items() if k == "aria-labelledby"}
    assert labelled <= set(ids)


@pytest.mark.parametrize("name", NAMES)
def test_headings_tables_and_figures_are_named(name):
    reader = read(name)
    levels = [int(tag[1]) for tag, _, _ in reader.elements if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(b <= a + 1 for a, b in pairwise(levels) if b <= 3)
    tables = len(reader.of("table"))
    assert tables == len(reader.of("caption")) > 5
    assert all(attrs.get("scope") in ("row", "col") for attrs in reader.of("th"))
    pictures = [a for tag, a, where in reader.elements if tag == "svg" and "figure" in where]
    pictures = [a for a in pictures if "close" not in a.get("class", "")]  # the second half of a section
    assert len(pictures) == len(reader.of("figcaption")) >= 4
    for attrs in pictures:
        assert attrs["role"] == "img"
        assert attrs["aria-label"].replace("−", "-") in reader.text()
    wide = [a for a in reader.of("div") if a.get("class") == "scroll"]
    assert all(a["tabindex"] == "0" and a["aria-label"] for a in wide)
    assert len(reader.of("main")) == len(reader.of("nav")) == len(reader.of("header")) == 1


@pytest.mark.parametrize("name", NAMES)
def test_first_screen_says_whether_it_works_and_why(name):
    made, words = report(name), read(name).text()
    assert words.index(made.plan.name) < words.index(verdict(made)) < words.index("Findings")
    for finding in made.findings:
        for part in (finding.title, finding.subject, finding.cause, finding.change):
            assert " ".join(part.split()) in words
        assert words.index(finding.title) < words.index("Pictures Levels against time")


@pytest.mark.parametrize("name", NAMES)
def test_every_number_opens_into_its_calculation(name):
    made, text, words = report(name), written(name), read(name).text()
    rows = [row for section in made.sections for row in section.rows]
    tables = [table for section in made.sections for table in section.tables]
    cells = [
        (table, column, line, cell)
        for table in tables
        for line in table.lines
        for column, cell in zip(table.columns, line.cells, strict=True)
    ]
    count = sum(row.worked is not None for row in rows)
    assert text.count("<summary>worked calculation</summary>") == count > 0
    linked = re.findall(r'<td[^>]*><a href="#(s\d+t\d+w\d+)">', text)
    assert len(linked) == sum(cell.worked is not None for _, _, _, cell in cells)
    system = made.plan.units
    for row in rows:
        assert row.label in words
        assert row.shown(system) in words
    for _, column, line, cell in cells:
        assert line.name in words
        assert shown(cell.value, column.kind, system) in words
    # A working stands where its number stands, and comes to it.
    blocks = dict(re.findall(r'<div class="working" id="(\S+?)">(.*?)</div></div>', text))
    found = iter(linked)
    workings = Workings(system)
    for _, column, line, cell in cells:
        if cell.worked is not None:
            block = blocks[next(found)]
            assert line.name in block
            assert column.heading.lower() in block
            assert math.isclose(workings.work(cell.worked).value, cell.value, rel_tol=2e-3)
    opened = re.findall(
        r'<span class="value">([^<]*)</span>(?:<span class="note">[^<]*</span>)?<details>(.*?)</details>',
        text,
    )
    worked = [row for row in rows if row.worked is not None]
    assert len(opened) == len(worked)
    for row, (value, block) in zip(worked, opened, strict=True):
        done = workings.work(row.worked)
        assert block.count("<math") == 3
        assert math.isclose(done.value, row.value, rel_tol=2e-3)
        assert f'alttext="{done.result_text}"' in block.replace("&#x27;", "'")
        assert value == row.shown(system).replace("'", "&#x27;")


@pytest.mark.parametrize("name", NAMES)
def test_page_says_every_word_and_number_of_the_report(name):
    found = report(name)
    system = found.plan.units
    words = " ".join(Reader(page(found)).text().split())

    def said(text):
        assert " ".join(text.split()) in words, text

    for section in found.sections:
        for text in (section.title, section.intro):
            said(text)
        for row in section.rows:
            said(f"{row.label} {row.shown(system)} {row.note}".strip())
        for table in section.tables:
            said(" ".join((table.about, *(column.heading for column in table.columns))))
            said(table.note)
            for line in table.lines:
                cells = [
                    shown(cell.value, column.kind, system)
                    for column, cell in zip(table.columns, line.cells, strict=True)
                ]
                said(" ".join((line.name, *cells)))
    for finding in found.findings:
        said(finding.title)
        said(finding.cause)
        said(finding.change)
        said(finding.shown(system)[1:])  # its first letter is made a capital where it begins a sentence


@pytest.mark.parametrize("name", NAMES)
def test_the_first_screen_holds_what_a_grower_looks_for(name):
    """Facts, the change, where the verdict turns and the bars, before anything that folds away."""
    found, text = report(name), written(name)
    first = Reader(text[text.index("<header>") : text.index("</header>") + 9])
    words = " ".join(first.text().split())
    for label, said in summary.facts(found):
        assert label in words
        for part in said.split("; "):
            assert part in words
    for said in summary.leaning(found.turns, found.verdict):
        assert said in words
    if (change := summary.change(found)) is not None:
        assert f"{change[0]}: {change[1]}" in words
    bars = [a for a in first.of("svg") if a.get("role") == "img" and a["viewbox"] == "0 0 104 10"]
    made = summary.bars(found)
    assert len(bars) == len(made)
    for bar, attrs in zip(made, bars, strict=True):
        past = attrs["aria-label"] == "past its limit"
        assert past == (bar.used > 1.0), bar
        assert bar.words in words
    assert [a["class"] for a in first.of("p") if "verdict" in a.get("class", "")] == [
        f"verdict {found.verdict.replace(' ', '-')}"
    ]


def test_what_decides_is_unfolded_and_the_rest_is_not():
    text = written("sump-overflows")
    folds = re.findall(r'<details class="fold"( open)?><summary><h2 id="(\w+)">', text)
    assert {anchor for unfolded, anchor in folds if unfolded} == {"findings", "cautions"}
    assert len(folds) > 10
    works = re.findall(r'<details class="fold" open><summary><h2 id="(\w+)">', written("greenhouse"))
    assert works == ["cautions"]


def test_findings_alike_name_the_one_with_the_least_in_hand():
    text = Reader(page(report("greenhouse"))).text()
    beds = {f.subject: f for f in report("greenhouse").findings if f.key == "bed_freeboard"}
    least = min(beds.values(), key=lambda f: f.margin)
    assert (
        f"Freeboard is enough : {', '.join(beds)} least at {least.subject}: {least.shown('metric')}" in text
    )
    (stop,) = (f for f in report("greenhouse").findings if f.key == "stop")
    assert f"The siphon stops : siphon {stop.shown('metric')}" in text
    # Opened, each says which bed it is of; a title with one finding need not.
    html = page(report("greenhouse"))
    for finding in beds.values():
        assert re.search(rf"<h4>{finding.subject}</h4>[^§]*?{re.escape(finding.cause)}", html), (
            finding.subject
        )
    assert "<h4>siphon</h4>" not in html
    assert report("greenhouse").plan.note in text


def test_pictures_of_several_siphons_are_told_apart():
    one, two = (
        [words for words, where in Reader(page(report(name))).words if where[-1:] == ("h3",)]
        for name in ("greenhouse", "two-groups")
    )
    assert "Section of siphon B" in two  # the first is on the first screen
    for title in ("Levels against time", "Inflow window", "Where the head goes"):
        assert title in one
        assert title not in two
        assert f"{title} of siphon A" in two
        assert f"{title} of siphon B" in two
    assert "Where the head goes in the last drain line" in one
    words = Reader(page(report("greenhouse"))).text()
    assert "the drain line from tee 3 to chamber at the siphon's flow" in words
    assert "the drain line from bed" not in words


def test_math_is_for_eyes_and_for_readers():
    made = mathml(
        r"Q = \left(0.02664\,\mathrm{m}\right)^{2} \cdot \frac{1}{\left(9.8\,\mathrm{m/s^{2}}\right)}",
        "Q < 1",
    )
    assert made.startswith("<math ")
    assert 'alttext="Q &lt; 1"' in made
    assert "<mtext>m</mtext>" in made
    assert "<mtext>m/s²</mtext>" in made
    assert "<mfrac>" in made


def test_names_are_escaped():
    made = report("greenhouse")
    odd = replace(made, plan=replace(made.plan, name='<b>"herbs" & co</b>'))
    text = page(odd)
    assert "<b>" not in text
    assert "&lt;b&gt;&quot;herbs&quot; &amp; co&lt;/b&gt;" in text
    Reader(text)


def test_page_is_the_same_each_time():
    assert page(report("greenhouse")) == written("greenhouse")


def test_page_is_small():
    assert len(written("greenhouse")) < 500_000


@pytest.mark.parametrize("name", ["ink", "soft", "water", "bad"])
def test_text_colours_stand_out_from_paper(name):
    # WCAG 2.2 success criterion 1.4.3 asks for 4.5 to 1 (relative luminance from memory).
    text = re.search(rf"--{name}: #([0-9a-f]+)", style())[1]
    text = "".join(c * 2 for c in text) if len(text) == 3 else text
    channels = [int(text[k : k + 2], 16) / 255 for k in (0, 2, 4)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    assert 1.05 / (0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05) > 4.5
