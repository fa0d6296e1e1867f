"""Every key of a plan file, read from `keys.toml`: what it is, its kind, default, meaning and example.

Reading, writing, editing, the error messages and the key-by-key document all
go by these tables.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from aquacalc.plan.key import Key, Table
from aquacalc.plan.shapes import SHAPES

#: Pipe series of a plan that names none, by its units (common practice, no source).
USUAL_SERIES = {"metric": "ISO 1452 PN16", "us": "ASTM D1785 schedule 40"}
_USUAL = " or ".join(f'"{series}" ({system} units)' for system, series in USUAL_SERIES.items())
_FIELDS = {field.name for field in fields(Key)}


def _key(name: str, raw: Mapping[str, Any], words: Mapping[str, Any]) -> Key:
    """Return one key of the file; each of `words` takes the place of its name in braces."""
    given: dict[str, Any] = {"default": None} if raw.get("optional") else {}
    for field, value in raw.items():
        if field in _FIELDS:
            given[field] = tuple(value) if isinstance(value, list) else value
            for word, said in words.items() if isinstance(value, str) else ():
                given[field] = given[field].replace(f"{{{word}}}", str(said))
    return Key(name, **given)


def _inside(keys: Mapping[str, Any], kinds: tuple[str, ...], words: Mapping[str, Any]) -> Iterator[Key]:
    """Keys of the inside of a vessel that may have these shapes."""
    for name, raw in keys.items():
        if name == "shape":
            yield _key(name, {**raw, "choices": kinds}, {**words, "first": kinds[0]})
        elif having := tuple(kind for kind in kinds if name in SHAPES[kind].keys):
            yield _key(name, {**raw, "shapes": having}, words)


def _keys(path: str, entries: Mapping[str, Any], shared: Mapping[str, Any]) -> Iterator[Key]:
    """Keys of one table, with those that it shares with others."""
    for name, raw in entries.items():
        words = {**raw, "what": path, "usual": _USUAL}
        if raw.get("use") == "inside":
            yield from _inside(shared["inside"], tuple(raw.get("kinds", SHAPES)), words)
        elif "use" in raw:
            yield from (_key(of, key, words) for of, key in shared[raw["use"]].items())
        else:
            yield _key(name, raw, words)


def _tables(path: str, raw: Mapping[str, Any], shared: Mapping[str, Any]) -> Iterator[Table]:
    """Return one table and then those inside it."""
    parts = {name: part for name, part in raw.items() if isinstance(part, dict) and name != "short"}
    keys = {name: part for name, part in parts.items() if isinstance(part.get("kind", part.get("use")), str)}
    inner = {name: part for name, part in parts.items() if name not in keys}
    yield Table(
        path,
        raw["meaning"],
        tuple(_keys(path, keys, shared)),
        many="named_by" in raw,
        required=raw.get("required", True),
        named_by=raw.get("named_by", ""),
        short=tuple(_keys(path, raw.get("short", {}), shared)),
        inner=tuple(inner),
    )
    for name, part in inner.items():
        yield from _tables(f"{path}.{name}", part, shared)


def _read() -> dict[str, Table]:
    raw = tomllib.loads(Path(__file__).with_name("keys.toml").read_text(encoding="utf-8"))
    shared = raw.pop("shared")
    return {table.path: table for path, part in raw.items() for table in _tables(path, part, shared)}


#: The tables by path, in the order of the file.
TABLES: dict[str, Table] = _read()
