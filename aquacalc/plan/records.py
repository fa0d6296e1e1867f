"""Between the records of the plan and flat {key: value} tables as the file has them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from operator import attrgetter

from aquacalc import catalogue
from aquacalc.equations import losses
from aquacalc.plan import model, shapes
from aquacalc.plan.schema import TABLES

_RECORDS = {
    "bed": model.Bed,
    "bed.strainer": model.Strainer,
    "tee": model.Tee,
    "run": model.Run,
    "chamber": model.Chamber,
    "siphon": model.Siphon,
    "siphon.standpipe": model.Standpipe,
    "siphon.bell": model.Bell,
    "siphon.tail": model.Tail,
    "siphon.priming": model.Priming,
    "siphon.stopping": model.Stopping,
    "sump": model.Sump,
    "pump": model.Pump,
    "pump.delivery": model.Delivery,
    "limits": model.Limits,
}
_PARTS = {"shape": shapes.make, "media": model.Media, "pipe": model.Pipe}
_LISTS = {"bed": "beds", "tee": "tees", "run": "runs", "chamber": "chambers", "siphon": "siphons"}


def list_field(path: str) -> str:
    """Return the plan's field that holds the records of a [[table]]."""
    return _LISTS[path]


def build(path: str, flat: dict, **inner):
    """Make the record of table `path` from its keys' values; `inner` are its tables' records."""
    whole, parts = dict(inner), {}
    for key in TABLES[path].keys:
        if key.name in flat:
            head, _, tail = key.path.partition(".")
            if tail:
                parts.setdefault(head, {})[tail] = flat[key.name]
            else:
                whole[head] = flat[key.name]
    whole.update({head: _PARTS[head](**fields) for head, fields in parts.items()})
    return _RECORDS[path](**whole)


def flatten(path: str, record) -> dict:
    """Return {key: value} of a record, without the keys that belong to another shape."""
    return {
        name: value(record)
        for name, value, shapes in _values(path)
        if not shapes or record.shape.kind in shapes
    }


@cache
def _values(path: str) -> tuple[tuple[str, Callable, tuple[str, ...]], ...]:
    """Key, how its value is had from a record, and shapes it belongs to, of each key of a table."""
    return tuple((key.name, attrgetter(key.path), key.shapes) for key in TABLES[path].keys)


def tables_of(plan: model.Plan) -> Iterator[tuple[str, str, object]]:
    """Yield (table path, place in messages, record) of everything in the plan, in the file's order."""
    for path, table in TABLES.items():
        if "." in path:
            continue
        if path == "plan":
            found = [("plan", plan)]
        elif table.many:
            name = table.key(table.named_by).path
            found = [(f"{path}.{getattr(r, name)}", r) for r in getattr(plan, _LISTS[path])]
        else:
            found = [(path, getattr(plan, path))]
        for place, record in found:
            yield path, place, record
            for inner in table.inner:
                part = getattr(record, inner)
                if part is not None:
                    yield f"{path}.{inner}", f"{place}.{inner}", part


def derived(path: str, flat: dict, tees: dict[str, float]) -> dict:
    """Return the values of the keys that come from others when they are left out.

    Parameters
    ----------
    path : str
        Table.
    flat : dict
        Its keys' values, as far as they are given.
    tees : dict of str to float
        Elevation (m) of each tee.

    Returns
    -------
    dict
        Only the keys for which there is such a value.

    Raises
    ------
    CatalogueError
        For a series, size or media that is in no table.
    """
    found = {}
    if flat.get("series") and flat["series"] != catalogue.OWN:
        pipe = catalogue.pipe(flat["series"], flat["size"])
        found.update(bore=pipe.bore, outside_diameter=pipe.outside_diameter, roughness=pipe.roughness)
    if path == "bed":
        media = catalogue.media(flat["media"])
        found.update(porosity=media.porosity, bulk_density=media.bulk_density)
        found.update(grain_smallest=media.grain_low, grain_largest=media.grain_high)
    if "shape" in flat:
        found.update(shapes.SHAPES[flat["shape"]].derive(flat))
    if path == "siphon.standpipe":
        bore = flat.get("bore", found.get("bore"))
        if bore is not None:
            found["lip_diameter"] = bore
    if path == "run" and flat["to"] in tees:
        found["outfall"] = tees[flat["to"]]
    return found


def fitting_k(name: str, spacing: float, bore: float) -> float:
    """Loss coefficient of a fitting of the tables on `bore` (m); `spacing` (m) for two 45s."""
    kind = catalogue.fitting(name)
    return losses.two_45_smooth(spacing, bore) if kind.role == "spaced" else kind.k
