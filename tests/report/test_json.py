"""The report's JSON: valid against its schema, in SI, and the same as the text says."""

import copy
import json

import jsonschema
import pytest

from aquacalc.equations import RECORDS
from aquacalc.report.as_json import SHAPE, as_dict, as_json, schema, shape_document
from tests.report.test_text import PLANS, report

pytestmark = pytest.mark.identity
VALIDATOR = jsonschema.Draft202012Validator(schema())


def parsed(name):
    return json.loads(as_json(report(name)))


def test_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(schema())
    assert schema()["properties"]["shape"]["const"] == SHAPE


@pytest.mark.parametrize("name", PLANS)
def test_json_is_valid(name):
    VALIDATOR.validate(parsed(name))


def objects(part):
    """Every object of the schema, to take a name from or add one to."""
    return [part, *part["$defs"].values()]


def test_schema_leaves_nothing_open_or_unexplained():
    for part in objects(schema()):
        assert part["additionalProperties"] is False
        assert part["required"] == list(part["properties"])
        for name, value in part["properties"].items():
            assert value.get("description"), name


@pytest.mark.parametrize("where", ["top", "finding", "row", "cell"])
def test_schema_refuses_a_name_too_many_and_one_too_few(where):
    whole = as_dict(report("greenhouse"))
    for change in ("more", "fewer"):
        out = copy.deepcopy(whole)
        part = {
            "top": out,
            "finding": out["findings"][0],
            "row": out["sections"][0]["rows"]["period"],
            "cell": out["sections"][2]["tables"]["levels"]["lines"]["bed 1"]["low"],
        }[where]
        if change == "more":
            part["colour"] = "blue"
        else:
            part.popitem()
        assert not VALIDATOR.is_valid(out)


def test_document_names_every_name():
    words = shape_document()
    for part in objects(schema()):
        for name in part["properties"]:
            assert f"| `{name}` |" in words


def test_numbers_are_si_and_the_text_says_the_same():
    out, found = parsed("greenhouse"), report("greenhouse")
    assert out["verdict"] == "works"
    assert out["sections"][0]["rows"]["period"]["value"] == found.run.groups[0].period
    assert out["sections"][0]["rows"]["period"]["unit"] == "s"
    assert out["windows"][0]["today"] == pytest.approx(18 / 60000)
    level = out["sections"][2]["tables"]["levels"]
    assert level["columns"]["high"]["unit"] == "m"
    assert level["lines"]["bed 1"]["high"]["value"] == found.run.node("bed 1").high


def test_worked_values_carry_the_units_of_their_symbols():
    out = parsed("greenhouse")
    row = next(s for s in out["sections"] if s["key"] == "standpipe")["rows"]["froude"]
    values = row["worked"]["values"]
    assert values["Q"] == {"value": pytest.approx(18 / 60000), "unit": "m³/s"}
    assert row["worked"]["relation"] == RECORDS["froude_bore"].relation
    assert row["worked"]["symbol"] == "Fr"


def test_us_units_change_words_and_no_numbers():
    us = parsed("us-units")
    assert us["plan"]["units"] == "us"
    assert us["windows"][0]["today"] == pytest.approx(4.8 * 231 * 0.0254**3 / 60, rel=1e-6)


def test_verdict_is_that_of_the_findings():
    for name in PLANS:
        out = parsed(name)
        states = {f["state"] for f in out["findings"]}
        assert out["verdict"] == next((s for s in ("does not", "may or may not") if s in states), "works")


def test_json_is_set_in_lines_in_its_own_letters_and_has_no_number_that_is_none(monkeypatch):
    monkeypatch.setattr("aquacalc.report.as_json.as_dict", lambda report: {"höhe": 1.0})
    assert as_json(None) == '{\n "höhe": 1.0\n}\n'
    monkeypatch.setattr("aquacalc.report.as_json.as_dict", lambda report: {"a": float("nan")})
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_json(None)
