"""Every key of a plan file, once: what it is, its kind, default, meaning and example.

Reading, writing, editing, the error messages and the key-by-key document all
go by these tables.
"""

from __future__ import annotations

from dataclasses import replace

from aquacalc.plan.key import LONGEST_TEXT, Key, Table
from aquacalc.plan.shapes import SHAPES

#: Pipe series of a plan that names none, by its units, and why (common practice, no source).
USUAL_SERIES = {"metric": "ISO 1452 PN16", "us": "ASTM D1785 schedule 40"}
USUAL_SERIES_IS = " or ".join(f'"{series}" ({system} units)' for system, series in USUAL_SERIES.items())
USUAL_SERIES_WHY = (
    "the pressure pipe that shops sell where people use these units; common practice, no source"
)
#: Smallest inside width or depth (m) of a vessel, and bore of a pipe or bell, that somebody could build.
LEAST_VESSEL, LEAST_BORE = 0.02, 0.002


def _shape_keys(what: str, kinds: tuple[str, ...] = tuple(SHAPES)) -> tuple[Key, ...]:
    """Keys of the inside of a vessel that may have these shapes."""
    at_floor = "the size at the floor, of an oval tank"
    sizes = (
        Key("depth", "length", "inside, from floor to rim", '"300 mm"', low=LEAST_VESSEL,
            derived="half the diameter of a half drum; the last of depths of a table"),
        Key("length", "length", "inside length, at the floor", '"1.2 m"', low=LEAST_VESSEL),
        Key("width", "length", "inside width, at the floor", '"500 mm"', low=LEAST_VESSEL),
        Key("top_length", "length", "inside length, at the rim", '"1.3 m"', low=LEAST_VESSEL,
            derived=at_floor),
        Key("top_width", "length", "inside width, at the rim", '"600 mm"', low=LEAST_VESSEL,
            derived=at_floor),
        Key("diameter", "length", "inside diameter", '"560 mm"', low=LEAST_VESSEL),
        Key("depths", "lengths", "heights above the floor, rising from 0 to the rim",
            '["0 mm", "150 mm", "300 mm"]'),
        Key("areas", "areas", "inside plan area at each of depths", '["0.50 m2", "0.55 m2", "0.60 m2"]'),
    )  # fmt: skip
    found = [
        Key(
            "shape",
            "choice",
            f"inside of the {what}",
            f'"{kinds[0]}"',
            field="shape.kind",
            choices=kinds,
            derived="the form that the sizes belong to",
        )
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
            '"ASTM D1785 schedule 40"', field=f"{field}series", derived=USUAL_SERIES_IS,
            reason=USUAL_SERIES_WHY),
        Key("size", "text", "size within the series", '"1 in"', field=f"{field}size"),
        Key("bore", "length", "inside diameter, measured", '"26.6 mm"', field=f"{field}bore", low=LEAST_BORE,
            derived="the series' own, by its least wall"),
        Key("outside_diameter", "length", "outside diameter, measured", '"33.4 mm"',
            field=f"{field}outside_diameter", derived="the series' own"),
        Key("roughness", "roughness", "roughness of the wall", '"0.0021 mm"', field=f"{field}roughness",
            derived="the series' own", zero=True),
    )  # fmt: skip


#: Shapes of a chamber or sump.
UPRIGHT = ("round", "rectangular", "tapered", "oval", "table")


def _place_keys(what: str) -> tuple[Key, ...]:
    """Keys of where a vessel stands."""
    return (
        Key("x", "elevation", f"where the middle of the {what} is, seen from above; with y", '"0 m"',
            default=None),
        Key("y", "elevation", f"where the middle of the {what} is, seen from above; with x", '"0.8 m"',
            default=None),
        Key("lies", "choice", "which way its length lies, with x and y", '"along x"', default="along x",
            choices=("along x", "along y"), reason="lengthwise in the row"),
        Key("wall", "length", "thickness of its wall and floor", '"4 mm"', default=None),
    )  # fmt: skip


def _legs_key(start: str) -> Key:
    meaning = (
        f"its way, leg by leg from {start}, along the pipe's middle from corner to corner: down, up, along, "
        "left or right, at 45 for half a turn, falling or rising for a level leg. Length, and fittings if "
        "they are left out, follow; a length beside it agrees within 5 mm"
    )
    return Key("legs", "legs", meaning, '["down 90 mm", "along 1.35 m falling 10 mm"]', default=(),
        reason="laid out by length, fittings and elevations")  # fmt: skip


def _fittings_key(where: str, ends: str, example: str, usual: str) -> Key:
    meaning = (
        f"every fitting of the {where}, in order of flow; no other loss is added. {ends} "
        'Each is a name ("bend 45"), a count and a name ("2 x bend 45") or a table: '
        '{fitting = "two 45s", spacing = "60 mm"}, {fitting = "my own", k = 0.4}, with count = 2 for several'
    )
    return Key(
        "fittings",
        "fittings",
        meaning,
        example,
        derived=usual,
        reason="what such a pipe needs at least; write your own, every fitting costs flow",
    )


def _like(what: str, example: str) -> Key:
    meaning = f"{what} above that this one equals, but for the keys given here"
    return Key("like", "text", meaning, example, default=None)


_COUNT = Key(
    "count",
    "count",
    'equal beds, named "bed 1", "bed 2" and so on; changing one of them later writes it by itself',
    "3",
    default=None,
)
_RUN_ENDS = (
    'Out of a bed it begins with an "entrance ..."; into a bed or chamber it ends with "exit"; '
    "at a tee it has neither. A strainer's loss comes from its openings: leave it out here."
)

_TABLES = (
    Table("plan", "What the plan is and how it is shown.", (
        Key("name", "text", "name of the plan", '"Greenhouse"', default="Plan", longest=200,
            reason="only a name"),
        Key("note", "text", "anything the reader should know", '"All numbers are invented."', default="",
            longest=LONGEST_TEXT),
        Key("datum", "text", "what elevations are measured from", '"greenhouse floor"', default="floor",
            longest=200, reason="elevations have to be measured from something"),
        Key("units", "choice", "units that results are shown in", '"metric"', default="metric",
            choices=("metric", "us"), reason="how results are shown; changes no result"),
        Key("water_temperature", "temperature", "temperature of the water", '"22 degC"', default="20 degC",
            zero=True, reason="room temperature; 10 degrees change friction by a few per cent"),
    ), required=False),
    Table("bed", "A grow bed.", (
        Key("name", "text", "name of the bed, without points", '"bed 1"',
            derived='"bed", with a number where there are several'),
        *_shape_keys("bed"),
        Key("floor", "elevation", "elevation of the inside floor", '"700 mm"'),
        Key("media", "text", "media, as in the table of media", '"gravel"', field="media.name"),
        Key("media_depth", "length", "media from the floor up to here", '"270 mm"', field="media.depth",
            derived="30 mm below the rim",
            reason="keeps water and roots off the rim; common practice, no source"),
        Key("porosity", "ratio", "drainable part of the media's volume; measure it with a bucket",
            '0.42 or "42 %"', field="media.porosity", low=0.05, derived="middle of the media's range",
            reason="the middle of the published values for this media; a bucket test tells yours"),
        Key("bulk_density", "density", "mass of dry media by volume", '"1550 kg/m3"',
            field="media.bulk_density", derived="middle of the media's range", zero=True,
            reason="the middle of the published values for this media; weigh a bucket of yours"),
        Key("grain_smallest", "length", "smallest grains of the media, as on the bag", '"8 mm"',
            field="media.grain_smallest", derived="the media's usual grade",
            reason="the grade sold most; read the bag"),
        Key("grain_largest", "length", "largest grains of the media, as on the bag", '"16 mm"',
            field="media.grain_largest", derived="the media's usual grade",
            reason="the grade sold most; read the bag"),
        Key("outlet", "choice", "where the outlet is", '"floor"', default="floor", choices=("floor", "side"),
            reason="an outlet in the floor drains a bed best"),
        Key("outlet_height", "length", "invert of a side outlet above the floor", '"40 mm"', default="0 mm",
            zero=True, reason="an outlet in the floor has no height"),
        Key("seal", "text", "what the outlet pipe passes the wall through", '"rubber pipe seal"',
            default="rubber pipe seal", reason="one hole, no thread; the usual seal of a grow bed"),
        Key("inflow_share", "number", "part of the pump's flow, relative to the other beds' shares", "1",
            default=1.0, zero=True, reason="every bed gets the same"),
        Key("empty_mass", "mass", "mass of the vessel and its share of the frame", '"14 kg"', default="0 kg",
            zero=True, reason="not known, so not in the weights"),
        Key("supports", "count", "legs or blocks that carry the bed", "4", default=4,
            reason="four legs"),
        Key("ribs", "lengths", "middles of the ribs across its floor, from the end", '["400 mm", "800 mm"]',
            default=(), reason="a flat floor"),
        Key("outlet_along", "length", "middle of a floor outlet from the end wall; the middle when left out",
            '"200 mm"', default=None),
        Key("outlet_across", "length", "middle of a floor outlet from the side; the middle when left out",
            '"250 mm"', default=None),
        *_place_keys("bed"),
    ), many=True, named_by="name", short=(_COUNT, _like("bed", '"bed 1"'))),
    Table("bed.strainer", "The strainer over the bed's outlet.", (
        Key("kind", "choice", "form of the openings", '"slots"', choices=("slots", "holes")),
        Key("count", "count", "how many openings", "24"),
        Key("width", "length", "width of a slot or diameter of a hole", '"3 mm"', low=2.0e-4),
        Key("length", "length", "length of a slot; not for holes", '"20 mm"', default="0 mm", zero=True,
            reason="holes have no length"),
        Key("discharge_coefficient", "ratio", "of one opening: 0.60 to 0.62 sharp, down to 0.4 ragged",
            "0.6", default=0.6, reason="a hole or slot with sharp edges"),
        Key("fixing", "choice",
            "how it is made: a wider tube over the outlet, a tube in a coupling, a tube lying on the floor, "
            "or a guard around the open outlet; it decides how much water stays", '"over the outlet"',
            default="over the outlet",
            choices=("over the outlet", "in a coupling", "lying on the floor", "media guard"),
            reason="leaves least water and lifts out for cleaning"),
    ), required=False),
    Table("tee", "A junction of runs, without storage.", (
        Key("name", "text", "name of the tee, without points", '"tee 1"',
            derived='"tee", with a number where there are several'),
        Key("elevation", "elevation", "elevation of its invert", '"600 mm"'),
    ), many=True, required=False, named_by="name", short=(_like("tee", '"tee 1"'),)),
    Table("run", "A length of pipe from a bed or tee to a bed, tee or chamber.", (
        Key("from", "text", 'bed or tee it drains; also a list of beds, or "every bed" for all the others',
            '"bed 1"', field="start"),
        Key("to", "text", "bed, tee or chamber it flows to", '"tee 1"', derived="the only chamber"),
        *_pipe_keys(),
        _legs_key("the bed's floor, the side outlet or the middle of the tee"),
        Key("length", "distance", "length of pipe along its middle", '"1.4 m"',
            derived="the sum of its legs"),
        _fittings_key("run", _RUN_ENDS, '["entrance, square", "2 x bend 45", "exit"]',
            "the ends; between vessels two short 90 degree bends, at a tee its branch or way in line"),
        Key("outfall", "elevation", "elevation of its invert where it enters the vessel it flows to",
            '"540 mm"',
            derived="the elevation of the tee it flows to, the end of its legs, or 50 mm above a floor",
            reason="low enough to drain the bed, high enough for the pipe's fitting"),
    ), many=True, required=False, named_by="from", short=(_like("run, named by its from,", '"bed 1"'),)),
    Table("chamber", "The siphon's own chamber.", (
        Key("name", "text", "name of the chamber, without points", '"chamber"',
            derived='"chamber", with a number where there are several'),
        *_shape_keys("chamber", UPRIGHT),
        Key("floor", "elevation", "elevation of the inside floor", '"500 mm"'),
        Key("seal", "text", "what pipes pass its wall through; as the first bed's when left out",
            '"rubber pipe seal"', default="", reason="as the first bed's"),
        Key("headroom", "length", "free height above its rim, for lifting the bell out", '"600 mm"',
            default=None, zero=True),
        *_place_keys("chamber"),
    ), many=True, required=False, named_by="name", short=(_like("chamber", '"chamber"'),)),
    Table("siphon", "A bell siphon, in a chamber or in a bed.", (
        Key("name", "text", "name of the siphon, without points", '"siphon"',
            derived='"siphon", with a number where there are several'),
        Key("host", "text", "chamber or bed it stands in", '"chamber"', derived="the only chamber"),
        Key("media_guard", "length", "inside diameter of the guard that keeps media off a siphon in a bed",
            '"150 mm"', default="0 mm", zero=True,
            reason="a siphon in a chamber needs no guard"),
        Key("lip_weir", "lip_coefficient", "weir coefficient per metre of lip; 1.34 to 1.84 are published",
            '"1.71 m^0.5/s"', default="1.71 m^0.5/s",
            reason="a sharp-edged weir, the middle of the published values"),
        Key("lip_orifice", "ratio", "discharge coefficient of the drowned lip; 0.60 to 0.606 are published",
            "0.60", default=0.60, reason="a sharp-edged orifice"),
        Key("tested", "text", "parts with which the flows under observed were seen, as the bench test writes "
            "them; with other parts these flows no longer count. Left out, they hold for any parts",
            '"standpipe bore 26.6 mm, 430 mm tall; lip 40.9 mm, cone, 30 mm long; bell ...; tail ..."',
            default="", longest=LONGEST_TEXT),
    ), many=True, named_by="name", short=(_like("siphon", '"siphon"'),)),
    Table("siphon.standpipe", "The siphon's standpipe and its lip.", (
        *_pipe_keys(),
        Key("height", "length", "lip above the floor of the host", '"430 mm"', low=0.01),
        Key("lip_diameter", "length", "inside diameter of the lip: wide end of the reducer on top",
            '"40.9 mm"', derived="the bore, without a reducer"),
        Key("entry", "choice", "form from lip to bore", '"cone"', default="square",
            choices=("square", "cone", "rounded"), reason="a pipe cut square"),
        Key("cone_length", "length", "height of the reducer", '"40 mm"', default="0 mm", zero=True,
            reason="no reducer"),
        Key("foot", "elevation", "elevation at which the standpipe's bore ends and the tail's begins; left "
            "out, the floor of the host", '"0.450 m"', default=None),
    )),
    Table("siphon.bell", "The bell over the standpipe.", (
        Key("series", "text", "pipe series of a bell made of pipe", '"ASTM D1785 schedule 40"',
            derived=f"none without a size, else {USUAL_SERIES_IS}", reason=USUAL_SERIES_WHY),
        Key("size", "text", "size within the series", '"3 in"', default="",
            reason="a bell need not be made of pipe"),
        Key("bore", "length", "inside diameter", '"78 mm"', low=LEAST_BORE,
            derived="the series' own, by its least wall"),
        Key("outside_diameter", "length", "outside diameter", '"89 mm"', derived="the series' own"),
        Key("top_height", "length", "underside of its top above the floor of the host", '"470 mm"'),
        Key("rim_height", "length", "top of its openings, where air enters, above the floor of the host",
            '"30 mm"', default="30 mm",
            reason="high enough for openings that pass the flow; common practice, no source"),
        Key("openings", "count", "cut-outs at its foot", "4", default=4,
            reason="water comes in from all sides; common practice, no source"),
        Key("opening_width", "length", "width of a cut-out", '"40 mm"', derived="half the outside diameter",
            reason="four of these leave a third of the bell standing"),
        Key("opening_height", "length", "height of a cut-out", '"30 mm"', derived="rim_height",
            reason="cut from the foot up"),
        Key("notch_height", "length", "top of a notch cut higher into the rim at one place, above the floor "
            "of the host; 0 for none", '"45 mm"', default="0 mm", zero=True, reason="no notch"),
    )),
    Table("siphon.tail", "The outlet pipe below the standpipe.", (
        *_pipe_keys(),
        _legs_key("the host's floor"),
        Key("length", "distance", "length of pipe from the floor of the host to its end", '"0.6 m"',
            derived="the sum of its legs"),
        _fittings_key("tail", 'It ends with "exit".', '["bend 90, swept", "exit"]',
            "one short 90 degree bend and the exit"),
        Key("outlet", "elevation", "elevation of its end", '"320 mm"'),
        Key("enters", "choice", "how it comes into the sump, where it matters", '"through the wall"',
            default=None, choices=("over the rim", "through the wall")),
        Key("outlet_is", "choice", "which part of its end is at that elevation", '"invert"', default="centre",
            choices=("centre", "invert"), reason="a pipe that runs full falls to the middle of its end"),
    )),
    Table("siphon.priming", "When the siphon starts.", (
        Key("froude", "number", "Froude number on the full bore at which it starts", "0.55", default=0.55,
            reason="the middle of the band; no two sources agree"),
        Key("froude_low", "number", "below this it trickles", "0.3", default=0.3,
            reason="the lowest published value for pipes that run full"),
        Key("froude_high", "number", "above this a bell that limits air fills", "1.0", default=1.0,
            reason="the highest published value for pipes that run full"),
        Key("observed", "flow", "flow that you saw start it; replaces the three above",
            '"11 L/min"', default=None),
        Key("observed_error", "flow", "its error: nine times in ten it starts within so much of that flow",
            '"0.5 L/min"', default="0 L/min", zero=True,
            reason="the flow is taken as it was read"),
    ), required=False),
    Table("siphon.stopping", "Up to which inflow it stops, where you have seen it.", (
        Key("observed", "flow", "highest inflow at which you saw it stop, with the tail's end free",
            '"34 L/min"', default=None),
        Key("observed_error", "flow", "its error: nine times in ten it stops below and runs on above so much",
            '"1.5 L/min"', default="0 L/min", zero=True,
            reason="the flow is taken as it was read"),
        Key("head", "length", "where air got in above the tail's end when you saw it; 0: as the plan has it",
            '"210 mm"', default="0 mm", zero=True,
            reason="as high as the plan has it"),
    ), required=False),
    Table("siphon.breather", "A tube from the bell's crown that lets air in and breaks the siphon.", (
        Key("bore", "length", "inside diameter", '"4 mm"'),
        Key("length", "length", "length of the tube", '"0.5 m"'),
        Key("mouth", "length", "its lower end above the floor of the host, where air enters", '"70 mm"'),
    ), required=False),
    Table("siphon.overflow", "A pipe that stands in the host and carries water off before anything spills.", (
        Key("bore", "length", "inside diameter of its mouth", '"40 mm"'),
        Key("height", "length", "its mouth above the floor of the host", '"460 mm"'),
    ), required=False),
    Table("sump", "The one sump.", (
        Key("name", "text", "name of the sump, without points", '"sump"', default="sump",
            reason="only a name"),
        *_shape_keys("sump", UPRIGHT),
        Key("floor", "elevation", "elevation of the inside floor", '"-400 mm"'),
        Key("water_level", "length", "water above the sump's floor, pump off", '"600 mm"',
            derived="50 mm below the rim, or freeboard below it where that is more",
            reason="as full as it may be"),
        Key("measured_with", "choice", "state of the beds at that water level", '"beds drained"',
            choices=("beds drained", "beds flooded"), default="beds drained",
            reason="you fill it before the beds flood"),
        Key("freeboard", "length", "wall to keep above the water", '"50 mm"', default="0 mm", zero=True,
            reason="full to the brim is allowed unless you ask for more"),
        *_place_keys("sump"),
    )),
    Table("pump", "The pump: either flow, or curve with a delivery pipe.", (
        Key("flow", "flow", "constant flow", '"18 L/min"', default=None),
        Key("curve", "curve", "points of the pump curve, flow rising and head falling",
            '[["0 L/min", "2.5 m"], ["30 L/min", "1.4 m"], ["50 L/min", "0 m"]]', default=()),
        Key("intake", "length", "height above the sump's floor that must stay under water", '"100 mm"',
            default="100 mm", reason="most pumps of this size; yours has it in its papers"),
        Key("power", "power", "electric power, for the running cost", '"35 W"', default="0 W", zero=True,
            reason="not known, so no running cost"),
        Key("on", "time", "how long a timer lets it run; with off", '"15 min"', default=None),
        Key("off", "time", "how long the timer then stops it; with on", '"45 min"', default=None),
    )),
    Table("pump.delivery", "The pipe from pump to beds; a curve needs it.", (
        *_pipe_keys(),
        _legs_key("the pump's outlet, level with the intake,"),
        Key("length", "distance", "length of pipe", '"3 m"', derived="the sum of its legs"),
        _fittings_key("delivery", 'It ends with "exit".', '["3 x bend 90, short", "exit"]',
            "two short 90 degree bends and the exit"),
        Key("outlet", "elevation", "elevation of its end, above the water in the beds", '"1.05 m"'),
        Key("check_valve", "choice", "a valve that lets nothing run back when the pump stops", '"fitted"',
            default="none", choices=("none", "fitted"), reason="few small pumps have one"),
    ), required=False),
    Table("limits", "What you ask of the plan; findings are measured against it.", (
        Key("bed_freeboard", "length", "wall to keep above the water in a bed", '"20 mm"', default="20 mm",
            zero=True, reason="common practice, no source"),
        Key("floods_low", "number", "fewest floods in an hour", "1", default=1.0, zero=True,
            reason="common practice, no source"),
        Key("floods_high", "number", "most floods in an hour", "6", default=6.0,
            reason="common practice, no source"),
        Key("residual", "length", "water a drained bed may keep above its outlet", '"20 mm"',
            default="20 mm", zero=True, reason="common practice, no source"),
        Key("stop_margin", "ratio", "part of the siphon's flow at the rim kept as a margin", '"10 %"',
            default=0.10, zero=True, reason="common practice, no source"),
        Key("strainer_ratio", "number", "open area of a strainer over the area of the bore", "1.5",
            default=1.5, zero=True, reason="common practice, no source"),
        Key("floor_load", "load", "load the floor takes; 0 when it is not known", '"400 kg/m2"',
            default="0 kg/m2", zero=True, reason="not known, so not checked"),
    ), required=False),
)  # fmt: skip

#: The tables by path, in the order of the file.
TABLES: dict[str, Table] = {
    table.path: replace(
        table,
        inner=tuple(
            other.path.removeprefix(table.path + ".")
            for other in _TABLES
            if other.path.startswith(table.path + ".")
        ),
    )
    for table in _TABLES
}
