"""Between the records of the plan and flat {key: value} tables as the file has them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from operator import attrgetter
from typing import Any

from aquacalc import catalogue
from aquacalc.equations import losses
from aquacalc.plan import legs, model, shapes
from aquacalc.plan.schema import TABLES, USUAL_SERIES

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
    "siphon.breather": model.Breather,
    "siphon.overflow": model.Overflow,
    "sump": model.Sump,
    "pump": model.Pump,
    "pump.delivery": model.Delivery,
    "limits": model.Limits,
}
_PARTS: dict[str, Callable[..., Any]] = {"shape": shapes.make, "media": model.Media, "pipe": model.Pipe}
#: How much longer (m) than the drop a line from a floor to a tee right below it may be (our own choice).
BELOW = 0.05
_LISTS = {"bed": "beds", "tee": "tees", "run": "runs", "chamber": "chambers", "siphon": "siphons"}


def list_field(path: str) -> str:
    """Return the plan's field that holds the records of a [[table]]."""
    return _LISTS[path]


def build(path: str, flat: dict, **inner):
    """Make the record of table `path` from its keys' values; `inner` are its tables' records."""
    whole: dict[str, Any] = dict(inner)
    parts: dict[str, dict[str, Any]] = {}
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


@dataclass(frozen=True)
class Around:
    """What a key that is left out takes from the rest: units, elevations (m) by name, chambers."""

    units: str = "metric"
    tees: Mapping[str, float] = field(default_factory=dict)
    floors: Mapping[str, float] = field(default_factory=dict)
    chambers: tuple[str, ...] = ()
    starts: Mapping[str, tuple[float, bool]] = field(default_factory=dict)


def starts(records: Iterable[model.Bed | model.Tee]) -> dict[str, tuple[float, bool]]:
    """Level (m) at which a run out of each begins, and whether it is an invert, by name."""
    return {
        r.name: (r.elevation, True) if isinstance(r, model.Tee) else (r.outlet_invert, r.outlet == "side")
        for r in records
    }


def around(plan: model.Plan) -> Around:
    """Return what is around every record of a plan."""
    return Around(
        plan.units,
        {tee.name: tee.elevation for tee in plan.tees},
        {v.name: v.floor for v in plan.vessels},
        tuple(chamber.name for chamber in plan.chambers),
        starts((*plan.beds, *plan.tees)),
    )


def derived(path: str, flat: dict, rest: Around) -> dict:
    """Return the values of the keys that come from others when they are left out.

    Parameters
    ----------
    path : str
        Table.
    flat : dict
        Its keys' values, as far as they are given.
    rest : Around

    Returns
    -------
    dict
        Only the keys for which there is such a value.

    Raises
    ------
    CatalogueError
        For a series, size or media that is in no table.
    """
    found = names(path, flat, rest)
    flat = found | flat
    if flat.get("series") and flat.get("size") and flat["series"] != catalogue.OWN:
        pipe = catalogue.pipe(flat["series"], flat["size"])
        found.update(bore=pipe.bore, outside_diameter=pipe.outside_diameter, roughness=pipe.roughness)
    if path == "bed" and flat["media"] != catalogue.OWN:
        media = catalogue.media(flat["media"])
        found.update(porosity=media.porosity, bulk_density=media.bulk_density)
        found.update(grain_smallest=media.grain_low, grain_largest=media.grain_high)
    if "shape" in flat:
        found.update(shapes.SHAPES[flat["shape"]].derive(flat))
    depth = flat.get("depth", found.get("depth"))
    if path == "bed" and depth is not None:
        found["media_depth"] = round(max(depth - 0.03, 0.5 * depth), 6)
    if path == "sump" and depth is not None:
        found["water_level"] = round(max(depth - max(0.05, flat.get("freeboard", 0.0)), 0.5 * depth), 6)
    if path == "siphon.standpipe":
        bore = flat.get("bore", found.get("bore"))
        if bore is not None:
            found["lip_diameter"] = bore
    if path == "siphon.bell":
        outside = flat.get("outside_diameter", found.get("outside_diameter"))
        if outside is not None:
            found["opening_width"] = round(0.5 * outside, 6)
        if "rim_height" in flat:
            found["opening_height"] = flat["rim_height"]
    if path == "run":
        to = flat.get("to")
        if to in rest.tees:
            found["outfall"] = rest.tees[to]
        elif to in rest.floors:
            found["outfall"] = round(rest.floors[to] + 0.05, 6)
            if flat.get("legs") and flat.get("from") in rest.starts and "bore" in {**found, **flat}:
                found["outfall"] = _legs_end(
                    flat["legs"], *rest.starts[flat["from"]], {**found, **flat}["bore"]
                )
    if flat.get("legs"):
        found["length"] = sum(leg.length for leg in flat["legs"])
    if path in ("run", "siphon.tail", "pump.delivery"):
        found["fittings"] = _usual_fittings(path, flat, rest)
    return found


def _legs_end(laid: tuple[model.Leg, ...], level: float, invert: bool, bore: float) -> float:
    """Invert (m) at which legs end that begin at `level`: an invert, or a floor with the pipe's middle."""
    middle = level + (0.5 * bore if invert else 0.0)
    return round(middle - sum(leg.drop for leg in laid) - 0.5 * bore, 6)


def names(path: str, flat: dict, rest: Around) -> dict:
    """Return the words that are taken for those left out: series, vessel flowed to, host."""
    found: dict[str, Any] = {}
    table = TABLES[path]
    if table.key("series"):
        bare_bell = path == "siphon.bell" and not flat.get("size")
        found["series"] = "" if bare_bell else USUAL_SERIES.get(rest.units, "")
    if len(rest.chambers) == 1:
        for name in ("to", "host"):
            if table.key(name):
                found[name] = rest.chambers[0]
    if table.key("shape"):
        found["shape"] = usual_shape(path, flat)
    return found


def usual_shape(path: str, given: Mapping[str, object]) -> str:
    """Return the first shape of a vessel that has all the sizes given and needs no other."""
    keys = [k for k in TABLES[path].keys if k.shapes]
    kinds = TABLES[path].key("shape").choices
    for kind in kinds:
        own = {k.name for k in keys if kind in k.shapes}
        needed = {k.name for k in keys if kind in k.shapes and k.required}
        if needed <= set(given) and not {k.name for k in keys if k.name in given} - own:
            return kind
    return kinds[0]


def _usual_fittings(path: str, flat: dict, rest: Around) -> tuple[model.Fitting, ...]:
    def made(name: str, count: int = 1) -> model.Fitting:
        return model.Fitting(name, count, catalogue.fitting(name).k)

    laid = flat.get("legs")
    bends = tuple(
        made("bend 90, short" if angle == 90 else "bend 45") for angle in legs.corners(laid or ()) if angle
    )
    if path in ("siphon.tail", "pump.delivery"):
        usual = made("bend 90, short", 1 if path == "siphon.tail" else 2)
        return (*(bends if laid else (usual,)), made("exit"))
    out, into = flat.get("from") not in rest.tees, flat.get("to") not in rest.tees
    if laid:
        first = (made("entrance, square"),) if out else ()
        return (
            *first,
            *bends,
            *((made("exit"),) if into else (made("tee, branch" if out else "tee, in line"),)),
        )
    if out and into:
        return (made("entrance, square"), made("bend 90, short", 2), made("exit"))
    first = (made("entrance, square"),) if out else ()
    last = (made("exit"),) if into else (made("tee, branch" if out else "tee, in line"),)
    level, side = rest.starts.get(flat.get("from", ""), (0.0, True))
    drop = level - rest.tees.get(flat.get("to", ""), level)
    # Out of a floor it turns level, unless the tee is right below.
    turns = not side and flat.get("length", 0.0) > drop + BELOW if out else into
    return (*first, *((made("bend 90, short"),) if turns else ()), *last)


def refitted(fittings: Iterable[model.Fitting], bore: float) -> tuple[model.Fitting, ...]:
    """Return fittings on a pipe of another `bore` (m): the loss of a pair of 45s depends on it."""
    return tuple(
        replace(f, k=losses.two_45_smooth(f.spacing, bore)) if f.spacing and not f.given else f
        for f in fittings
    )


def fitting_k(name: str, spacing: float, bore: float) -> float:
    """Loss coefficient of a fitting of the tables on `bore` (m); `spacing` (m) for two 45s."""
    kind = catalogue.fitting(name)
    return losses.two_45_smooth(spacing, bore) if kind.role == "spaced" else kind.k
