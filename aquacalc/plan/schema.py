"""Every key of a plan file, once: what it is, its kind, default, meaning and example.

Reading, writing, editing, the error messages and the key-by-key document all
go by these tables.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, cached_property

from aquacalc import units
from aquacalc.plan.shapes import SHAPES

#: A key that has no default.
REQUIRED = "required"
#: Kinds that are no quantity: text and so on, and how the document names them.
PLAIN_KINDS = {
    "text": "text",
    "choice": "one of the words listed",
    "count": "whole number",
    "lengths": "list of lengths",
    "areas": "list of areas",
    "fittings": "list of fittings",
    "curve": "list of [flow, head]",
}
#: Smallest and largest value (SI) that is believed, by kind; 0 itself only where the key says so.
BELIEVED = {
    "length": (0.0, 1000.0),
    "distance": (0.0, 1000.0),
    "roughness": (0.0, 0.01),
    "elevation": (-1000.0, 1000.0),
    "area": (0.0, 1.0e6),
    "flow": (0.0, 10.0),
    "mass": (0.0, 1.0e6),
    "density": (0.0, 25000.0),
    "load": (0.0, 1.0e6),
    "power": (0.0, 1.0e6),
    "temperature": (0.0, 60.0),
    "ratio": (0.0, 1.0),
    "number": (0.0, 1000.0),
    "lip_coefficient": (0.0, 10.0),
}


@dataclass(frozen=True)
class Key:
    """One key of a table.

    Parameters
    ----------
    name : str
        The key as written.
    kind : str
        Key of `units.KINDS` or of `PLAIN_KINDS`.
    meaning : str
    example : str
        A value as written in TOML.
    default : str or int or float or None
        As it would be written in TOML; `REQUIRED`; None when leaving it out
        leaves it out of the plan.
    field : str
        Dotted path in the record of `aquacalc.plan.model`; `name` when empty.
    choices : tuple of str
    zero : bool
        Whether 0 is a value.
    shapes : tuple of str
        Shapes the key belongs to; empty for all.
    derived : str
        Where the value comes from when the key is left out, in words.
    high : float or None
        Largest value believed, when it is not the kind's.
    """

    name: str
    kind: str
    meaning: str
    example: str
    default: object = REQUIRED
    field: str = ""
    choices: tuple[str, ...] = ()
    zero: bool = False
    shapes: tuple[str, ...] = ()
    derived: str = ""
    high: float | None = None

    @property
    def path(self) -> str:
        """Dotted path in the record."""
        return self.field or self.name

    @property
    def required(self) -> bool:
        """Whether the key has to be written."""
        return self.default is REQUIRED and not self.derived

    @cached_property
    def numeric(self) -> bool:
        """Whether the value is one float."""
        return self.kind in units.KINDS

    @cached_property
    def believed(self) -> tuple[float, float]:
        """Smallest and largest value believed, SI."""
        low, high = BELIEVED[self.kind]
        return low, high if self.high is None else self.high

    def default_value(self):
        """Return the default as the record holds it: SI float, int, str or None."""
        if self.default is REQUIRED or self.default is None or not self.numeric:
            return None if self.default is REQUIRED else self.default
        return _si(self.default, self.kind)


@cache
def _si(text, kind: str) -> float:
    return units.read(text, kind)


@dataclass(frozen=True)
class Table:
    """One table of the file: `path` as in "siphon.bell"; `many` for [[tables]]; `named_by` its name key."""

    path: str
    meaning: str
    keys: tuple[Key, ...]
    many: bool = False
    required: bool = True
    named_by: str = ""

    def key(self, name: str) -> Key | None:
        """Return the key called `name`, or None."""
        return _by_name(self.path).get(name)

    @cached_property
    def inner(self) -> tuple[str, ...]:
        """Names of the tables inside this one."""
        start = self.path + "."
        return tuple(t[len(start) :] for t in TABLES if t.startswith(start))


def _shape_keys(what: str, kinds: tuple[str, ...] = tuple(SHAPES)) -> tuple[Key, ...]:
    """Keys of the inside of a vessel that may have these shapes."""
    at_floor = "the size at the floor, of an oval tank"
    sizes = (
        Key("depth", "length", "inside, from floor to rim", '"300 mm"',
            derived="half the diameter of a half drum; the last of depths of a table"),
        Key("length", "length", "inside length, at the floor", '"1.2 m"'),
        Key("width", "length", "inside width, at the floor", '"500 mm"'),
        Key("top_length", "length", "inside length, at the rim", '"1.3 m"', derived=at_floor),
        Key("top_width", "length", "inside width, at the rim", '"600 mm"', derived=at_floor),
        Key("diameter", "length", "inside diameter", '"560 mm"'),
        Key("depths", "lengths", "heights above the floor, rising from 0 to the rim",
            '["0 mm", "150 mm", "300 mm"]'),
        Key("areas", "areas", "inside plan area at each of depths", '["0.50 m2", "0.55 m2", "0.60 m2"]'),
    )  # fmt: skip
    found = [
        Key("shape", "choice", f"inside of the {what}", f'"{kinds[0]}"', field="shape.kind", choices=kinds)
    ]
    for key in sizes:
        having = tuple(kind for kind in kinds if key.name in SHAPES[kind].keys)
        if having:
            found.append(replace(key, field=f"shape.{key.name}", shapes=having))
    return tuple(found)


def _pipe_keys(field: str = "pipe.") -> tuple[Key, ...]:
    """Keys of a pipe; a measured bore replaces the table's."""
    return (
        Key("series", "text", 'pipe series by its standard, or "own" with the three sizes below it',
            '"ASTM D1785 schedule 40"', field=f"{field}series"),
        Key("size", "text", "size within the series", '"1 in"', field=f"{field}size"),
        Key("bore", "length", "inside diameter, measured", '"26.6 mm"', field=f"{field}bore",
            derived="the series' own, by its least wall"),
        Key("outside_diameter", "length", "outside diameter, measured", '"33.4 mm"',
            field=f"{field}outside_diameter", derived="the series' own"),
        Key("roughness", "roughness", "roughness of the wall", '"0.0021 mm"', field=f"{field}roughness",
            derived="the series' own", zero=True),
    )  # fmt: skip


#: Shapes of a chamber or sump.
UPRIGHT = ("round", "rectangular", "tapered", "oval", "table")


def _fittings_key(where: str, ends: str, example: str) -> Key:
    meaning = (
        f"every fitting of the {where}, in order of flow; no loss is added that is not written here. {ends} "
        'Each is a name ("bend 45"), a count and a name ("2 x bend 45") or a table: '
        '{fitting = "two 45s", spacing = "60 mm"}, {fitting = "my own", k = 0.4}, with count = 2 for several'
    )
    return Key("fittings", "fittings", meaning, example)


_RUN_ENDS = (
    'Out of a bed it begins with an "entrance ..."; into a bed or chamber it ends with "exit"; '
    "at a tee it has neither. A strainer's loss is reckoned from its openings and does not stand here."
)

_TABLES = (
    Table("plan", "What the plan is and how it is shown.", (
        Key("name", "text", "name of the plan", '"Greenhouse"'),
        Key("note", "text", "anything the reader should know", '"All numbers are invented."', default=""),
        Key("datum", "text", "what elevations are measured from", '"greenhouse floor"'),
        Key("units", "choice", "units that results are shown in", '"metric"', default="metric",
            choices=("metric", "us")),
        Key("water_temperature", "temperature", "temperature of the water", '"22 degC"', default="20 degC",
            zero=True),
    )),
    Table("bed", "A grow bed.", (
        Key("name", "text", "name of the bed, without points", '"bed 1"'),
        *_shape_keys("bed"),
        Key("floor", "elevation", "elevation of the inside floor", '"700 mm"'),
        Key("media", "text", "media, as in the table of media", '"gravel"', field="media.name"),
        Key("media_depth", "length", "media from the floor up to here", '"270 mm"', field="media.depth"),
        Key("porosity", "ratio", "drainable part of the media's volume; measure it with a bucket",
            '0.42 or "42 %"', field="media.porosity", derived="middle of the media's range"),
        Key("bulk_density", "density", "mass of dry media by volume", '"1550 kg/m3"',
            field="media.bulk_density", derived="middle of the media's range", zero=True),
        Key("grain_smallest", "length", "smallest grains of the media, as on the bag", '"8 mm"',
            field="media.grain_smallest", derived="the media's usual grade"),
        Key("grain_largest", "length", "largest grains of the media, as on the bag", '"16 mm"',
            field="media.grain_largest", derived="the media's usual grade"),
        Key("outlet", "choice", "where the outlet is", '"floor"', default="floor", choices=("floor", "side")),
        Key("outlet_height", "length", "invert of a side outlet above the floor", '"40 mm"', default="0 mm",
            zero=True),
        Key("seal", "text", "what the outlet pipe passes the wall through", '"rubber pipe seal"',
            default="rubber pipe seal"),
        Key("inflow_share", "number", "part of the pump's flow, relative to the other beds' shares", "1",
            default=1.0, zero=True),
        Key("empty_mass", "mass", "mass of the vessel and its share of the frame", '"14 kg"', default="0 kg",
            zero=True),
        Key("supports", "count", "legs or blocks that carry the bed", "4", default=4),
    ), many=True, named_by="name"),
    Table("bed.strainer", "The strainer over the bed's outlet.", (
        Key("kind", "choice", "form of the openings", '"slots"', choices=("slots", "holes")),
        Key("count", "count", "how many openings", "24"),
        Key("width", "length", "width of a slot or diameter of a hole", '"3 mm"'),
        Key("length", "length", "length of a slot; not for holes", '"20 mm"', default="0 mm", zero=True),
        Key("discharge_coefficient", "ratio", "of one opening: 0.60 to 0.62 sharp, down to 0.4 ragged",
            "0.6", default=0.6),
        Key("fixing", "choice",
            "how it is made: a wider tube over the outlet, a tube in a coupling, a tube lying on the floor, "
            "or a guard around the open outlet; it decides how much water stays", '"over the outlet"',
            default="over the outlet",
            choices=("over the outlet", "in a coupling", "lying on the floor", "media guard")),
    ), required=False),
    Table("tee", "A junction of runs, without storage.", (
        Key("name", "text", "name of the tee, without points", '"tee 1"'),
        Key("elevation", "elevation", "elevation of its invert", '"600 mm"'),
    ), many=True, required=False, named_by="name"),
    Table("run", "A length of pipe from a bed or tee to a bed, tee or chamber.", (
        Key("from", "text", "bed or tee it drains", '"bed 1"', field="start"),
        Key("to", "text", "bed, tee or chamber it flows to", '"tee 1"'),
        *_pipe_keys(),
        Key("length", "distance", "length of pipe along its middle", '"1.4 m"'),
        _fittings_key("run", _RUN_ENDS, '["entrance, square", "2 x bend 45", "exit"]'),
        Key("outfall", "elevation", "elevation of its invert where it enters the vessel it flows to",
            '"540 mm"', derived="the elevation of the tee it flows to; wanted for a vessel"),
    ), many=True, required=False, named_by="from"),
    Table("chamber", "The siphon's own chamber.", (
        Key("name", "text", "name of the chamber, without points", '"chamber"'),
        *_shape_keys("chamber", UPRIGHT),
        Key("floor", "elevation", "elevation of the inside floor", '"500 mm"'),
    ), many=True, required=False, named_by="name"),
    Table("siphon", "A bell siphon, in a chamber or in a bed.", (
        Key("name", "text", "name of the siphon, without points", '"siphon"'),
        Key("host", "text", "chamber or bed it stands in", '"chamber"'),
        Key("media_guard", "length", "inside diameter of the guard that keeps media off a siphon in a bed",
            '"150 mm"', default="0 mm", zero=True),
        Key("lip_weir", "lip_coefficient", "weir coefficient per metre of lip; 1.34 to 1.84 are in print",
            '"1.71 m^0.5/s"', default="1.71 m^0.5/s"),
        Key("lip_orifice", "ratio", "discharge coefficient of the drowned lip; 0.60 to 0.606 are in print",
            "0.60", default=0.60),
        Key("tested", "text", "parts with which the flows under observed were seen, as the bench test writes "
            "them; with other parts these flows no longer count. Left out, they hold for any parts",
            '"standpipe bore 26.6 mm, 430 mm tall; lip 40.9 mm, cone, 30 mm long; bell ...; tail ..."',
            default=""),
    ), many=True, named_by="name"),
    Table("siphon.standpipe", "The siphon's standpipe and its lip.", (
        *_pipe_keys(),
        Key("height", "length", "lip above the floor of the host", '"430 mm"'),
        Key("lip_diameter", "length", "inside diameter of the lip: wide end of the reducer on top",
            '"40.9 mm"', derived="the bore, without a reducer"),
        Key("entry", "choice", "form from lip to bore", '"cone"', default="square",
            choices=("square", "cone", "rounded")),
        Key("cone_length", "length", "height of the reducer", '"40 mm"', default="0 mm", zero=True),
    )),
    Table("siphon.bell", "The bell over the standpipe.", (
        Key("series", "text", "pipe series of a bell made of pipe", '"ASTM D1785 schedule 40"', default=""),
        Key("size", "text", "size within the series", '"3 in"', default=""),
        Key("bore", "length", "inside diameter", '"78 mm"', derived="the series' own, by its least wall"),
        Key("outside_diameter", "length", "outside diameter", '"89 mm"', derived="the series' own"),
        Key("top_height", "length", "underside of its top above the floor of the host", '"470 mm"'),
        Key("rim_height", "length", "top of its openings, where air enters, above the floor of the host",
            '"30 mm"'),
        Key("openings", "count", "cut-outs at its foot", "4"),
        Key("opening_width", "length", "width of a cut-out", '"40 mm"'),
        Key("opening_height", "length", "height of a cut-out", '"30 mm"'),
    )),
    Table("siphon.tail", "The outlet pipe below the standpipe.", (
        *_pipe_keys(),
        Key("length", "distance", "length of pipe from the floor of the host to its end", '"0.6 m"'),
        _fittings_key("tail", 'It ends with "exit".', '["bend 90, swept", "exit"]'),
        Key("outlet", "elevation", "elevation of its end", '"320 mm"'),
    )),
    Table("siphon.priming", "When the siphon starts.", (
        Key("froude", "number", "Froude number on the full bore at which it starts", "0.55", default=0.55),
        Key("froude_low", "number", "below this it trickles", "0.3", default=0.3),
        Key("froude_high", "number", "above this a bell that limits air fills", "1.0", default=1.0),
        Key("observed", "flow", "flow that you saw start it; replaces the three above",
            '"11 L/min"', default=None),
        Key("observed_error", "flow", "its error: nine times in ten it starts within so much of that flow",
            '"0.5 L/min"', default="0 L/min", zero=True),
    ), required=False),
    Table("siphon.stopping", "Up to which inflow it stops, where you have seen it.", (
        Key("observed", "flow", "highest inflow at which you saw it stop, with the tail's end free",
            '"34 L/min"', default=None),
        Key("observed_error", "flow", "its error: nine times in ten it stops below and runs on above so much",
            '"1.5 L/min"', default="0 L/min", zero=True),
        Key("head", "length", "bell rim above the tail's end when you saw it; 0 for as the plan has it",
            '"210 mm"', default="0 mm", zero=True),
    ), required=False),
    Table("sump", "The one sump.", (
        Key("name", "text", "name of the sump, without points", '"sump"', default="sump"),
        *_shape_keys("sump", UPRIGHT),
        Key("floor", "elevation", "elevation of the inside floor", '"-400 mm"'),
        Key("water_level", "length", "water above the sump's floor, pump off", '"600 mm"'),
        Key("measured_with", "choice", "state of the beds at that water level", '"beds drained"',
            choices=("beds drained", "beds flooded")),
        Key("freeboard", "length", "wall to keep above the water", '"50 mm"', default="0 mm", zero=True),
    )),
    Table("pump", "The pump: either flow, or curve with a delivery pipe.", (
        Key("flow", "flow", "constant flow", '"18 L/min"', default=None),
        Key("curve", "curve", "points of the pump curve, flow rising and head falling",
            '[["0 L/min", "2.5 m"], ["30 L/min", "1.4 m"], ["50 L/min", "0 m"]]', default=()),
        Key("intake", "length", "height above the sump's floor that must stay under water", '"100 mm"'),
        Key("power", "power", "electric power, for the running cost", '"35 W"', default="0 W", zero=True),
    )),
    Table("pump.delivery", "The pipe from pump to beds; a curve needs it.", (
        *_pipe_keys(),
        Key("length", "distance", "length of pipe", '"3 m"'),
        _fittings_key("delivery", 'It ends with "exit".', '["3 x bend 90, short", "exit"]'),
        Key("outlet", "elevation", "elevation of its end, above the beds", '"1.05 m"'),
    ), required=False),
    Table("limits", "What you ask of the plan; findings are measured against it.", (
        Key("bed_freeboard", "length", "wall to keep above the water in a bed", '"20 mm"', default="20 mm",
            zero=True),
        Key("floods_low", "number", "fewest floods in an hour", "1", default=1.0, zero=True),
        Key("floods_high", "number", "most floods in an hour", "6", default=6.0),
        Key("residual", "length", "water a drained bed may keep above its outlet", '"20 mm"',
            default="20 mm", zero=True),
        Key("stop_margin", "ratio", "part of the siphon's flow at the rim kept in hand", '"10 %"',
            default=0.10, zero=True),
        Key("strainer_ratio", "number", "open area of a strainer over the area of the bore", "1.5",
            default=1.5, zero=True),
        Key("floor_load", "load", "load the floor takes; 0 when it is not known", '"400 kg/m2"',
            default="0 kg/m2", zero=True),
    ), required=False),
)  # fmt: skip

#: The tables by path, in the order of the file.
TABLES: dict[str, Table] = {table.path: table for table in _TABLES}


@cache
def _by_name(path: str) -> dict[str, Key]:
    return {key.name: key for key in TABLES[path].keys}
