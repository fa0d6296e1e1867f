"""The schema covers the records, its examples read, and the document made from it is up to date."""

import tomllib
from dataclasses import fields

import pytest

from aquacalc.plan import PlanError, document, model
from aquacalc.plan.read import _Reader
from aquacalc.plan.schema import TABLES
from aquacalc.plan.shapes import SHAPES

pytestmark = pytest.mark.identity
RECORDS = {
    "plan": model.Plan, "bed": model.Bed, "bed.strainer": model.Strainer, "tee": model.Tee, "run": model.Run,
    "chamber": model.Chamber, "siphon": model.Siphon, "siphon.standpipe": model.Standpipe,
    "siphon.bell": model.Bell, "siphon.tail": model.Tail, "siphon.priming": model.Priming,
    "siphon.stopping": model.Stopping, "siphon.breather": model.Breather,
    "siphon.overflow": model.Overflow, "sump": model.Sump,
    "pump": model.Pump, "pump.delivery": model.Delivery, "limits": model.Limits,
}  # fmt: skip
PARTS = {"media": model.Media, "pipe": model.Pipe}
LISTS = {"beds", "runs", "tees", "chambers", "siphons", "sump", "pump", "limits", "text", "marks"}


@pytest.mark.parametrize("path", TABLES)
def test_every_field_of_the_record_has_a_key(path):
    table = TABLES[path]
    written = {key.path.partition(".")[0] for key in table.keys} | set(table.inner)
    assert written == {f.name for f in fields(RECORDS[path])} - (LISTS if path == "plan" else set())
    for part, record in PARTS.items():
        inner = {key.path.partition(".")[2] for key in table.keys if key.path.startswith(part + ".")}
        if inner:
            assert inner == {f.name for f in fields(record)}
    for kind in table.key("shape").choices if table.key("shape") else ():
        due = {k.path.partition(".")[2] for k in table.keys if kind in k.shapes}
        assert due == set(SHAPES[kind].keys)
        assert due | {"depth"} == {f.name for f in fields(SHAPES[kind])}, kind


@pytest.mark.parametrize("path", TABLES)
def test_defaults_are_those_of_the_record(path):
    defaults = {f.name: f.default for f in fields(RECORDS[path])}
    for key in TABLES[path].keys:
        value = key.default_value()
        stated = defaults.get(key.path)
        if isinstance(stated, (int, float, str)) and key.default not in ("required", ""):
            assert value == stated, key.name


@pytest.mark.parametrize("path", TABLES)
def test_examples_can_be_read(path):
    for key in TABLES[path].keys:
        raw = tomllib.loads(f"{key.name} = {key.example.split(' or ')[0]}")[key.name]
        if key.kind == "fittings":
            assert _Reader("example").fittings(raw, 0.0266, key.name)
        else:
            assert _Reader("example").value(key, raw, key.name) is not None


def test_document_names_every_key():
    text = document.document()
    for path, table in TABLES.items():
        assert f"[{path}]" in text
        for key in table.keys:
            assert f"| `{key.name}` |" in text


def test_reader_takes_each_way_of_writing_a_fitting():
    found = _Reader("f").fittings(
        ["bend 45", "2 x bend 45", "3x Bend 90 swept", {"fitting": "mine", "k": 0.4, "count": 2}], 0.0266, "f"
    )
    assert [(f.name, f.count, f.k, f.given) for f in found] == [
        ("bend 45", 1, 0.33, False),
        ("bend 45", 2, 0.33, False),
        ("bend 90, swept", 3, 0.294, False),
        ("mine", 2, 0.4, True),
    ]
    with pytest.raises(PlanError, match="2 x"):
        _Reader("f").fittings(["2 x"], 0.0266, "f")
