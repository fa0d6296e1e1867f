"""Pairs of plans: one with a single fault, and the same plan mended.

Each is the demo plan, or another that is kept, with the keys named. Written down before the code that
tells them apart: the fault must not be called working, and what mends it must.
"""

from __future__ import annotations

from dataclasses import dataclass

MAYBE = "may or may not"
NOT = "does not"


@dataclass(frozen=True)
class Pair:
    """A fault and its mend.

    Parameters
    ----------
    name : str
    fault, mended : tuple of (table, keys)
        Edits of the plan.
    said : tuple of str
        Verdicts that the fault may get.
    about : str
        Key of the finding that has to name the cause.
    word : str
        Word that its text has to hold.
    plan : str
        Name of the plan in `tests/plans`; "" for the demo plan.
    """

    name: str
    fault: tuple
    mended: tuple
    said: tuple[str, ...]
    about: str
    word: str
    plan: str = ""


def flow(text: str) -> tuple[str, dict]:
    return ("pump", {"flow": f'"{text}"'})


def tail(**keys) -> tuple[str, dict]:
    return ("siphon.tail", keys)


def timer(on: str, off: str) -> tuple[str, dict]:
    return ("pump", {"on": f'"{on}"', "off": f'"{off}"'})


_NO_CURVE = {"flow": None}
_LONGER = (("run 2", {"length": '"0.3 m"'}), ("run 4", {"length": '"0.3 m"'}))
_SIDE = (("bed", {"outlet": '"side"', "outlet_height": '"40 mm"'}), *_LONGER)
_HALF_IN = ("run", {"size": '"1/2 in"'})
_1_IN = ("run", {"size": '"1 in"'})
_OVERFLOW = {"bore": '"40 mm"'}

PAIRS = (
    Pair("3 in tail under a 1 in standpipe", (flow("22 L/min"), tail(size='"3 in"')), (flow("22 L/min"),),
         (NOT,), "stop", "tail"),
    Pair("3 in tail, inflow close to what the open tail lets out", (tail(size='"3 in"'),), (), (MAYBE,),
         "stop", "tail"),
    Pair("3 in tail with the standpipe's foot at the floor", (flow("20 L/min"), tail(size='"3 in"')),
         (flow("20 L/min"), tail(size='"3 in"'), ("siphon.standpipe", {"foot": '"0.400 m"'})), (NOT, MAYBE),
         "stop", "foot"),
    Pair("flow inside the start band", (flow("9.3 L/min"),), (flow("18 L/min"),), (MAYBE,), "start", "aise"),
    Pair("flow inside the start band, over its middle", (flow("9.6 L/min"),), (flow("18 L/min"),), (MAYBE,),
         "start", "aise"),
    Pair("flow just under the start band's end", (flow("16.5 L/min"),), (flow("17.5 L/min"),), (MAYBE,),
         "start", "aise"),
    Pair("flow inside the start band, then read by jug", (flow("9 L/min"),),
         (flow("9 L/min"), ("siphon.priming", {"observed": '"8 L/min"', "observed_error": '"0.5 L/min"'})),
         (MAYBE,), "start", "observed"),
    Pair("flow under the start band", (flow("4.5 L/min"),), (flow("18 L/min"),), (NOT,), "start", "aise"),
    Pair("38 L/min near the stop", (flow("38 L/min"),), (flow("30 L/min"),), (MAYBE,), "stop", "gulp"),
    Pair("42 L/min over the stop", (flow("42 L/min"),), (flow("30 L/min"),), (NOT,), "stop", "rim"),
    Pair("36 L/min, and a breather tube", (flow("36 L/min"),),
         (flow("36 L/min"), ("siphon.breather", {"bore": '"4 mm"', "length": '"0.5 m"', "mouth": '"70 mm"'})),
         (MAYBE,), "stop", "breather"),
    Pair("breather tube shorter than the way to its mouth",
         (flow("36 L/min"), ("siphon.breather", {"bore": '"4 mm"', "length": '"0.3 m"', "mouth": '"70 mm"'})),
         (flow("36 L/min"), ("siphon.breather", {"bore": '"4 mm"', "length": '"0.5 m"', "mouth": '"70 mm"'})),
         (NOT,), "breather", "straight down"),
    Pair("breather tube with its mouth over the lip",
         (("siphon.breather", {"bore": '"4 mm"', "length": '"0.2 m"', "mouth": '"445 mm"'}),),
         (("siphon.breather", {"bore": '"4 mm"', "length": '"0.5 m"', "mouth": '"60 mm"'}),), (NOT,),
         "breather", "mouth"),
    Pair("3/4 in tail under a 1 in standpipe", (flow("24 L/min"), tail(size='"3/4 in"')), (flow("24 L/min"),),
         (NOT, MAYBE), "stop", "tail"),
    Pair("roof of the bell 2 mm over the lip", (("siphon.bell", {"top_height": '"432 mm"'}),),
         (("siphon.bell", {"top_height": '"465 mm"'}),), (MAYBE, NOT), "bell_clearance", "taller"),
    Pair("tail drowned at the start", (tail(outlet='"-0.200 m"', length='"1.2 m"'),),
         (tail(outlet='"0.000 m"', length='"1.0 m"'),), (MAYBE,), "bed_freeboard", "drowned"),
    Pair("sump over the bell rim", (("sump", {"floor": '"0.000 m"', "water_level": '"600 mm"'}),), (),
         (NOT,), "stop", "sump"),
    Pair("side outlet of 1 in that keeps 25 mm", (*_SIDE, _1_IN, flow("24 L/min")),
         (*_SIDE, flow("18 L/min")), (NOT, MAYBE), "drains", "outlet"),
    Pair("tee 80 mm too high", (("tee", {"elevation": '"0.780 m"'}), *_LONGER), _LONGER, (NOT,), "drains",
         "tee"),
    Pair("outfall 60 mm too high", (("run 5", {"outfall": '"0.760 m"'}),), (), (NOT,), "drains", "outfall"),
    Pair("box figures of a pump, then more points",
         (("pump", _NO_CURVE | {"curve": '[["0 L/min", "3.3 m"], ["78 L/min", "0 m"]]'}),),
         (("pump", _NO_CURVE | {"curve": '[["0 L/min", "2.6 m"], ["20 L/min", "2.2 m"], '
                                         '["40 L/min", "1.2 m"], ["55 L/min", "0 m"]]'}),),
         (MAYBE,), "stop", "jug"),
    Pair("delivery ends under the flood", (("pump.delivery", {"outlet": '"0.850 m"'}),),
         (("pump.delivery", {"outlet": '"1.000 m"'}),), (MAYBE, NOT), "siphon_back", "check valve"),
    Pair("delivery ends under the flood, with a check valve", (("pump.delivery", {"outlet": '"0.850 m"'}),),
         (("pump.delivery", {"outlet": '"0.850 m"', "check_valve": '"fitted"'}),), (MAYBE, NOT),
         "siphon_back", "check valve"),
    Pair("strainer openings wider than the grains",
         (("bed", {"strainer": '{ kind = "slots", count = 10, width = "14 mm", length = "25 mm" }'}),), (),
         (MAYBE, NOT), "strainer_grains", "grain"),
    Pair("safety overflow under the level at which it starts",
         (("siphon.overflow", _OVERFLOW | {"height": '"435 mm"'}),),
         (("siphon.overflow", _OVERFLOW | {"height": '"460 mm"'}),), (NOT, MAYBE), "overflow", "starts"),
    Pair("bed's wall under the water", (("bed", {"depth": '"236 mm"', "media_depth": '"200 mm"'}),), (),
         (NOT,), "bed_freeboard", "rim"),
    Pair("too little water in the sump", (("sump", {"water_level": '"360 mm"'}),), (), (NOT,), "pump_cover",
         "water"),
)  # fmt: skip

#: On what was let through until it was looked for.
MORE = (
    Pair(
        "timer shorter than spilling and priming",
        (timer("30 s", "10 min"),),
        (timer("15 min", "30 min"),),
        (NOT,),
        "timer",
        "short",
    ),
    Pair(
        "timer that stops the pump while the siphon primes",
        (timer("11 min", "45 min"),),
        (timer("15 min", "45 min"),),
        (MAYBE,),
        "timer",
        "before the siphon starts",
    ),
    Pair(
        "timer whose water runs back",
        (timer("4 min", "10 min"), ("pump.delivery", {"outlet": '"0.850 m"'})),
        (timer("4 min", "10 min"), ("pump.delivery", {"outlet": '"0.850 m"', "check_valve": '"fitted"'})),
        (NOT,),
        "timer",
        "back",
    ),
    Pair(
        "beds left flooded for hours by the timer",
        (timer("5 min", "6 h"),),
        (timer("15 min", "6 h"),),
        (MAYBE, NOT),
        "timer_stands",
        "stand",
    ),
    Pair(
        "bed just under the flood level",
        (("bed 3", {"floor": '"0.900 m"'}), ("run 4", {"length": '"0.4 m"'})),
        (("bed 3", {"floor": '"0.720 m"'}), ("run 4", {"length": '"0.4 m"'})),
        (NOT,),
        "flood",
        "floods",
    ),
    Pair(
        "side outlets half way up",
        (*_LONGER, ("bed", {"outlet": '"side"', "outlet_height": '"120 mm"'})),
        (*_LONGER, ("bed", {"outlet": '"side"', "outlet_height": '"40 mm"'})),
        (NOT, MAYBE),
        "wet_zone",
        "never drain",
    ),
    Pair(
        "delivery ends a millimetre over the flood",
        (("pump.delivery", {"outlet": '"0.945 m"'}),),
        (("pump.delivery", {"outlet": '"1.000 m"'}),),
        (MAYBE, NOT),
        "siphon_back",
        "back",
    ),
    Pair(
        "two millimetres of wall over the flood",
        (("bed", {"depth": '"246 mm"', "media_depth": '"220 mm"'}),),
        (("bed", {"depth": '"290 mm"', "media_depth": '"250 mm"'}),),
        (MAYBE, NOT),
        "bed_freeboard",
        "start",
    ),
    Pair(
        "fine gravel, outlet at one end",
        (("bed", {"grain_smallest": '"4 mm"', "grain_largest": '"6 mm"', "outlet_along": '"60 mm"'}),),
        (("bed", {"grain_smallest": '"16 mm"', "grain_largest": '"32 mm"', "outlet_along": '"600 mm"'}),),
        (MAYBE, NOT),
        "far_end",
        "far end",
    ),
    Pair(
        "outfall too high, flow inside the start band",
        (flow("9 L/min"), ("run 5", {"outfall": '"0.760 m"'})),
        (flow("18 L/min"),),
        (NOT,),
        "drains",
        "outfall",
    ),
    Pair(
        "four holes for a strainer",
        (("bed", {"strainer": '{ kind = "holes", count = 4, width = "4 mm" }'}),),
        (("bed", {"strainer": '{ kind = "holes", count = 60, width = "7 mm" }'}),),
        (NOT,),
        "drains",
        "strainer",
    ),
    Pair(
        "drain lines of 1/2 in",
        (_HALF_IN, ("run 2", {"length": '"0.3 m"'}), ("run 4", {"length": '"0.3 m"'})),
        _LONGER,
        (NOT, MAYBE),
        "drains",
        "pipe",
    ),
    Pair(
        "sump too small",
        (("sump", {"diameter": '"500 mm"'}),),
        (("sump", {"diameter": '"1000 mm"'}),),
        (NOT,),
        "pump_cover",
        "sump",
    ),
    Pair(
        "sump filled with the beds flooded",
        (("sump", {"measured_with": '"beds flooded"'}),),
        (("sump", {"measured_with": '"beds flooded"', "water_level": '"300 mm"'}),),
        (NOT,),
        "sump_overflow",
        "water",
    ),
    Pair(
        "sump filled to 8 mm under its rim",
        (("sump", {"water_level": '"688 mm"'}),),
        (("sump", {"water_level": '"660 mm"'}),),
        (MAYBE,),
        "drain_back",
        "rim",
    ),
    Pair(
        "sump filled to the brim",
        (("sump", {"water_level": '"699 mm"'}),),
        (("sump", {"water_level": '"640 mm"'}),),
        (NOT,),
        "drain_back",
        "ump",
    ),
    Pair(
        "pump cannot lift so high",
        (
            (
                "pump",
                {"flow": None, "curve": '[["0 L/min", "1.1 m"], ["40 L/min", "0.5 m"], ["60 L/min", "0 m"]]'},
            ),
        ),
        (
            (
                "pump",
                {
                    "flow": None,
                    "curve": '[["0 L/min", "2.6 m"], ["20 L/min", "2.2 m"], '
                    '["40 L/min", "1.2 m"], ["55 L/min", "0 m"]]',
                },
            ),
        ),
        (NOT,),
        "no_inflow",
        "lift",
    ),
    Pair(
        "bell with one small hole",
        (("siphon.bell", {"openings": "1", "opening_width": '"8 mm"', "opening_height": '"8 mm"'}),),
        (("siphon.bell", {"openings": "4", "opening_width": '"30 mm"', "opening_height": '"20 mm"'}),),
        (NOT,),
        "stop",
        "ell",
    ),
    Pair(
        "notch cut half way up the bell",
        (("siphon.bell", {"notch_height": '"215 mm"'}),),
        (("siphon.bell", {"notch_height": '"60 mm"'}),),
        (NOT,),
        "drains",
        "break",
    ),
    Pair(
        "bell rim above the beds' outlets",
        (("siphon.bell", {"rim_height": '"260 mm"', "opening_height": '"60 mm"'}),),
        (("siphon.bell", {"rim_height": '"60 mm"', "opening_height": '"60 mm"'}),),
        (NOT,),
        "drains",
        "breaks",
    ),
    Pair(
        "bell cut open from its foot to over the beds' outlets",
        (("siphon.bell", {"rim_height": '"260 mm"', "opening_height": '"260 mm"'}),),
        (("siphon.bell", {"rim_height": '"60 mm"', "opening_height": '"60 mm"'}),),
        (NOT,),
        "drains",
        "breaks",
    ),
    Pair(
        "tail of ten bends",
        (tail(fittings='["10 x bend 90, short", "exit"]'), flow("26 L/min")),
        (flow("26 L/min"),),
        (NOT, MAYBE),
        "stop",
        "bend",
    ),
    Pair(
        "intake over the sump's lowest water",
        (("pump", {"intake": '"300 mm"'}),),
        (("pump", {"intake": '"80 mm"'}),),
        (NOT,),
        "pump_cover",
        "intake",
    ),
    Pair(
        "grains that fall through the slots",
        (("bed", {"grain_smallest": '"1 mm"', "grain_largest": '"3 mm"'}),),
        (("bed", {"grain_smallest": '"8 mm"', "grain_largest": '"12 mm"'}),),
        (NOT, MAYBE),
        "strainer_grains",
        "grain",
    ),
    Pair(
        "standpipe of 2 in",
        (
            (
                "siphon.standpipe",
                {"size": '"2 in"', "lip_diameter": None, "entry": '"square"', "cone_length": None},
            ),
            tail(size='"2 in"'),
        ),
        (),
        (MAYBE, NOT),
        "start",
        "bore",
    ),
    Pair(
        "standpipe ten millimetres too tall",
        (("siphon.standpipe", {"height": '"489 mm"'}), ("siphon.bell", {"top_height": '"520 mm"'})),
        (("siphon.standpipe", {"height": '"440 mm"'}), ("siphon.bell", {"top_height": '"475 mm"'})),
        (NOT, MAYBE),
        "bed_freeboard",
        "tandpipe",
    ),
    Pair(
        "chamber lower than the flood",
        (("chamber", {"depth": '"435 mm"'}),),
        (("chamber", {"depth": '"500 mm"'}),),
        (NOT, MAYBE),
        "chamber_freeboard",
        "hamber",
    ),
    Pair(
        "one bed's drain line 30 m of 3/4 in",
        (("run 1", {"size": '"3/4 in"', "length": '"30 m"'}),),
        (),
        (NOT, MAYBE),
        "drains",
        "pipe",
    ),
)

_SLOTS = '{ kind = "slots", count = 28, width = "3 mm", length = "25 mm"'
_BOX = '[["0 L/min", "2.6 m"], ["20 L/min", "2.2 m"], ["40 L/min", "1.2 m"], ["55 L/min", "0 m"]]'


def curve(points: str) -> tuple[str, dict]:
    return ("pump", _NO_CURVE | {"curve": points})


def wide(*more: tuple[str, dict]) -> tuple:
    """A standpipe and tail of 1-1/4 in."""
    stand = {"size": '"1-1/4 in"', "lip_diameter": '"52.5 mm"'}
    return (("siphon.standpipe", stand), tail(size='"1-1/4 in"'), *more)


_SEEN = ("siphon.priming", {"observed": '"4 L/min"', "observed_error": '"0.3 L/min"'})
_LOW_WALL = ("bed", {"depth": '"254 mm"', "media_depth": '"230 mm"'})
_PLAIN = ("siphon.standpipe", {"lip_diameter": None, "entry": '"square"', "cone_length": None})

#: Each a fault that growers make, of parts that the others leave alone or near the ends of a band.
AGAIN = (
    Pair("sump 5 % too small for a late start", (("sump", {"diameter": '"725 mm"'}),),
         (("sump", {"diameter": '"760 mm"'}),), (MAYBE,), "pump_cover", "late"),
    Pair("sump that the beds drain dry", (("sump", {"diameter": '"715 mm"'}),),
         (("sump", {"diameter": '"780 mm"'}),), (NOT,), "pump_cover", "down to"),
    Pair("bell that leaks at two thirds of its height", (("siphon.bell", {"notch_height": '"300 mm"'}),), (),
         (NOT,), "drains", "notch"),
    Pair("low walls under a plain lip",
         (_PLAIN, _LOW_WALL), (_LOW_WALL,), (MAYBE,), "bed_freeboard", "higher"),
    Pair("flat pump curve that hardly lifts",
         (curve('[["0 L/min", "1.40 m"], ["30 L/min", "1.34 m"], ["60 L/min", "1.2 m"]]'),), (curve(_BOX),),
         (MAYBE,), "start", "aise"),
    Pair("pump at the end of its lift",
         (curve('[["0 L/min", "1.25 m"], ["40 L/min", "0.6 m"], ["55 L/min", "0 m"]]'),), (curve(_BOX),),
         (NOT,), "start", "aise"),
    Pair("grains of 2 to 4 mm, outlet in the middle",
         (("bed", {"grain_smallest": '"2 mm"', "grain_largest": '"4 mm"', "outlet_along": '"600 mm"',
                   "strainer": '{ kind = "slots", count = 56, width = "1.5 mm", length = "25 mm" }'}),),
         (("bed", {"grain_smallest": '"8 mm"', "grain_largest": '"16 mm"', "outlet_along": '"600 mm"',
                   "strainer": '{ kind = "slots", count = 56, width = "1.5 mm", length = "25 mm" }'}),),
         (MAYBE,), "far_end", "Ergun"),
    Pair("crest in the drain line",
         (("run 5", {"legs": '["along 0.4 m rising 60 mm", "along 0.4 m falling 80 mm"]', "length": None,
                     "fittings": '["exit"]'}),),
         (("run 5", {"legs": '["along 0.8 m falling 20 mm"]', "length": None, "fittings": '["exit"]'}),),
         (NOT,), "line_crest", "irst filling"),
    Pair("tee 17 mm under the next",
         (("tee 1", {"elevation": '"0.563 m"'}), ("run 2", {"length": '"0.12 m"'})),
         (("run 2", {"length": '"0.12 m"'}),), (MAYBE,), "line_climbs", "climbs"),
    Pair("bench too weak for flooded beds", (("limits", {"floor_load": '"220 kg/m2"'}),),
         (("limits", {"floor_load": '"250 kg/m2"'}),), (NOT,), "weight", "limit"),
    Pair("strainer in a coupling on the floor",
         (("bed", {"strainer": _SLOTS + ', fixing = "in a coupling" }'}),),
         (("bed", {"strainer": _SLOTS + ', fixing = "over the outlet" }'}),), (MAYBE,), "sill", "coupling"),
    Pair("two slots in one bed's strainer",
         (("bed 1", {"strainer": '{ kind = "slots", count = 2, width = "3 mm", length = "25 mm" }'}),), (),
         (NOT,), "drains", "strainer"),
    Pair("tail that ends just under the bell's rim", (tail(outlet='"0.480 m"', length='"0.3 m"'),), (),
         (MAYBE,), "stop", "tail"),
    Pair("breather as thin as a drinking straw's end", (flow("36 L/min"),
         ("siphon.breather", {"bore": '"1.5 mm"', "length": '"0.5 m"', "mouth": '"70 mm"'})),
         (flow("36 L/min"), ("siphon.breather", {"bore": '"5 mm"', "length": '"0.5 m"', "mouth": '"70 mm"'})),
         (MAYBE,), "stop", "gulp"),
    Pair("two screwed elbows in the tail",
         (flow("28 L/min"), tail(fittings='["2 x bend 90, screwed", "exit"]')),
         (flow("28 L/min"),), (MAYBE,), "stop", "bends"),
    Pair("safety overflow under the lip", (("siphon.overflow", _OVERFLOW | {"height": '"400 mm"'}),),
         (("siphon.overflow", _OVERFLOW | {"height": '"460 mm"'}),), (NOT,), "overflow", "Raise its mouth"),
    Pair("pump that brings 1 L/min", (flow("1 L/min"),), (), (NOT,), "start", "aise"),
    Pair("timer of 3 min, too short from the lip on", (timer("3 min", "2 h"),), (timer("15 min", "2 h"),),
         (MAYBE,), "timer", "over the lip"),
    Pair("timer of 12 min, just short of a late start", (timer("12 min", "1 h"),), (timer("15 min", "1 h"),),
         (MAYBE,), "timer", "Set the timer"),
    Pair("1-1/4 in standpipe at 30 L/min", wide(flow("30 L/min")), wide(flow("36 L/min")), (MAYBE,), "start",
         "aise"),
    Pair("level tail of 6 m", (tail(length='"6 m"'), flow("26 L/min")), (flow("26 L/min"),), (NOT, MAYBE),
         "stop", "tail"),
    Pair("chamber hardly wider than the bell", (("chamber", {"diameter": '"95 mm"'}),), (), (NOT,),
         "bell_room", "bell"),
    Pair("hole for the drain line too near the chamber's floor", (("run 5", {"outfall": '"0.505 m"'}),), (),
         (NOT,), "hole_edge", "edge"),
    Pair("2 mm of wall over 5 L/min, where surface tension counts",
         (flow("5 L/min"), _SEEN, ("bed", {"depth": '"238 mm"', "media_depth": '"200 mm"'})),
         (flow("5 L/min"), _SEEN), (MAYBE,), "bed_freeboard", "start"),
    Pair("intake nearly at the lowest water", (("pump", {"intake": '"281 mm"'}),), (), (MAYBE,), "pump_cover",
         "late"),
)  # fmt: skip


def bed(**keys) -> tuple[str, dict]:
    return ("bed", keys)


_LOAD = ("limits", {"floor_load": '"120 lb/ft2"'})
_SHARE = ("bed 3", {"inflow_share": "1.1"})
_FINE_SLOTS = '{ kind = "slots", count = 40, width = "3 mm", length = "25 mm" }'
_NO_READING = ("siphon.priming", {"observed": None, "observed_error": None})

#: Of plans of other layouts: star, series, drums, two siphons, a siphon in a bed, US units, a pump curve.
OTHERS = (
    Pair("no strainer", (bed(strainer=None),), (), (NOT,), "strainer", "media"),
    Pair("no strainer in one bed of a star", (("bed 2", {"strainer": None}),), (), (NOT,), "strainer",
         "media", "star"),
    Pair("lines into the next bed at its floor", (),
         (("bed 1", {"floor": '"0.820 m"'}), ("bed 2", {"floor": '"0.760 m"'}),
          ("run 1", {"outfall": '"0.785 m"'}), ("run 2", {"outfall": '"0.725 m"'})), (NOT,), "hole_edge",
         "edge", "series"),
    Pair("bed joined at its floor to the bed with the siphon", (),
         (("bed 2", {"floor": '"0.755 m"'}), ("run", {"outfall": '"0.725 m"'})), (NOT,), "hole_edge", "edge",
         "inside-bed"),
    Pair("outfall 40 mm over the bed's floor", (("run", {"outfall": '"0.740 m"'}),), (), (NOT,), "drains",
         "outfall", "single"),
    Pair("breather with its mouth under the bell's rim",
         (flow("36 L/min"), ("siphon.breather", {"bore": '"4 mm"', "length": '"0.5 m"', "mouth": '"20 mm"'})),
         (flow("36 L/min"), ("siphon.breather", {"bore": '"4 mm"', "length": '"0.5 m"', "mouth": '"70 mm"'})),
         (MAYBE,), "stop", "breather does not count"),
    Pair("bell of 2 in over a lip of 1-1/2 in", (("siphon.bell", {"size": '"2 in"'}),), (), (MAYBE,),
         "bell_gap", "wider bell"),
    Pair("side outlets of DN 40 at 9 L/min each", (), (bed(outlet='"floor"', outlet_height=None),), (MAYBE,),
         "drains", "in the floor", "side-outlets"),
    Pair("floor of 80 lb/ft2 under wet gravel", (), (_LOAD,), (NOT,), "weight", "ighter media", "us-units"),
    Pair("1/2 in tail, in US units", (_LOAD, tail(size='"1/2 in"')), (_LOAD,), (NOT,), "stop", "tail",
         "us-units"),
    Pair("2.6 gpm, not read before", (_LOAD, _NO_READING, flow("2.6 gpm")), (_LOAD,), (MAYBE,), "start",
         "gpm", "us-units"),
    Pair("3/4 in line that all share", (("run 3", {"size": '"3/4 in"'}), ("run 5", {"size": '"3/4 in"'})), (),
         (NOT, MAYBE), "drains", "pipe", "half-drums"),
    Pair("grains of 1 to 3 mm in one of three drums",
         (("bed 2", {"grain_smallest": '"1 mm"', "grain_largest": '"3 mm"'}),), (), (NOT,),
         "strainer_grains", "grain", "half-drums"),
    Pair("two siphons, one of them short of flow", (), (_SHARE,), (MAYBE,), "start", "aise", "two-groups"),
    Pair("two siphons, sump measured with the beds flooded",
         (_SHARE, ("sump", {"measured_with": '"beds flooded"'})), (_SHARE,), (NOT,), "sump_overflow",
         "water", "two-groups"),
    Pair("long thin line", (("run", {"length": '"12 m"', "size": '"1 in"'}),), (), (NOT,), "drains", "pipe",
         "single"),
    Pair("pump by two figures, near the start",
         (("pump", {"curve": '[["0 L/min", "2.2 m"], ["35 L/min", "0 m"]]'}),), (), (MAYBE,), "start", "jug",
         "pump-curve"),
    Pair("drowned tail under low walls",
         (tail(outlet='"-0.150 m"', length='"0.97 m"'), bed(depth='"275 mm"', media_depth='"255 mm"')),
         (bed(depth='"290 mm"', media_depth='"255 mm"'),), (MAYBE,), "bed_freeboard", "drowned",
         "pump-curve"),
    Pair("fine gravel, outlets at one end of a star",
         (bed(grain_smallest='"4 mm"', grain_largest='"6 mm"', outlet_along='"80 mm"',
              strainer=_FINE_SLOTS),),
         (bed(grain_smallest='"16 mm"', grain_largest='"25 mm"', strainer=_FINE_SLOTS),), (MAYBE, NOT),
         "far_end", "far end", "star"),
)  # fmt: skip
