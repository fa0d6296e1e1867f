"""The plan: what a grower means to build, as frozen records of SI floats.

Nothing here reads text or knows units: `aquacalc.plan.read` turns a TOML file
into these records and `aquacalc.plan.write` turns them back. Elevations are
metres above the plan's one datum; heights are metres above the floor of the
vessel they belong to.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from aquacalc.plan.shapes import Shape


@dataclass(frozen=True)
class Mark:
    """What a value of the plan rests on: "given", "measured", "assumed" or "derived"; `note` says how."""

    mark: str
    note: str = ""


@dataclass(frozen=True)
class Media:
    """What fills a bed up to `depth` (m): its drainable part `porosity`, dry `bulk_density` (kg/m3).

    `grain_smallest` and `grain_largest` (m) are the grade, as on the bag.
    """

    name: str
    depth: float
    porosity: float
    bulk_density: float = 0.0
    grain_smallest: float = 0.0
    grain_largest: float = 0.0


@dataclass(frozen=True)
class Strainer:
    """Openings of one size in a strainer: `width` (of holes the diameter) and `length`, m.

    `discharge_coefficient` is that of an orifice. `fixing` says how it is made: "over the outlet",
    "in a coupling", "lying on the floor" or "media guard".
    """

    kind: str  # "slots" or "holes"
    count: int
    width: float
    length: float = 0.0
    discharge_coefficient: float = 0.6
    fixing: str = "over the outlet"


@dataclass(frozen=True)
class Leg:
    """One straight leg of a pipe's way: `length` (m) along its middle, joint to joint.

    `way` is "down", "up", "along", "left" or "right"; `half` makes it a turn of 45 degrees; `fall` (m) is
    how much a level leg falls (negative: rises).
    """

    way: str
    length: float
    half: bool = False
    fall: float = 0.0

    @property
    def drop(self) -> float:
        """How far its end lies below its start, m."""
        down = {"down": 1.0, "up": -1.0}.get(self.way, 0.0)
        return self.fall + down * self.length * (math.sqrt(0.5) if self.half else 1.0)


@dataclass(frozen=True)
class Bed:
    """A grow bed.

    Parameters
    ----------
    floor : float
        Elevation of the inside floor, m.
    outlet : {"floor", "side"}
    outlet_height : float
        Invert of a side outlet above the floor, m (0 for a floor outlet).
    seal : str
        Catalogue name of the fitting the outlet passes through.
    inflow_share : float
        Part of the pump's flow, relative to the other beds' shares.
    empty_mass : float
        Mass of the vessel and its frame share, kg.
    supports : int
        Number of legs or blocks that carry the bed.
    ribs : tuple of float
        Middles of the ribs across its floor, from the end, m.
    outlet_along, outlet_across : float or None
        Middle of a floor outlet from the end and from the side, m; None for the middle.
    x, y : float or None
        Where its middle stands, seen from above, m.
    lies : {"along x", "along y"}
        Which way its length lies, where `x` and `y` are given.
    wall : float or None
        Thickness of its wall, m; None when not known.
    """

    name: str
    floor: float
    shape: Shape
    media: Media
    outlet: str
    outlet_height: float
    strainer: Strainer | None
    seal: str
    inflow_share: float
    empty_mass: float = 0.0
    supports: int = 4
    ribs: tuple[float, ...] = ()
    outlet_along: float | None = None
    outlet_across: float | None = None
    x: float | None = None
    y: float | None = None
    lies: str = "along x"
    wall: float | None = None

    @property
    def rim(self) -> float:
        """Elevation of the top of the wall, m."""
        return self.floor + self.shape.depth

    @property
    def outlet_invert(self) -> float:
        """Elevation of the invert of a side outlet, or of the floor, m; `geometry` adds the sill."""
        return self.floor + self.outlet_height


@dataclass(frozen=True)
class Pipe:
    """A pipe by series and size; `bore`, `outside_diameter`, `roughness` in m from the catalogue."""

    series: str
    size: str
    bore: float
    outside_diameter: float
    roughness: float


@dataclass(frozen=True)
class Fitting:
    """A fitting in a run: catalogue name, how many, loss coefficient `k` on the pipe's bore.

    `spacing` (m, centre to centre) belongs to "two 45s" and is 0 elsewhere.
    `given` says that the plan itself states `k`.
    """

    name: str
    count: int
    k: float
    spacing: float = 0.0
    given: bool = False


@dataclass(frozen=True)
class Run:
    """A length of pipe with its fittings from a bed or tee to a bed, tee or chamber.

    `outfall` is the elevation (m) of the invert where it enters `to`; `legs` its way where that is given.
    """

    start: str
    to: str
    pipe: Pipe
    length: float
    fittings: tuple[Fitting, ...]
    outfall: float
    legs: tuple[Leg, ...] = ()


@dataclass(frozen=True)
class Tee:
    """A junction without storage; `elevation` of its invert, m."""

    name: str
    elevation: float


@dataclass(frozen=True)
class Chamber:
    """The siphon's own chamber; `floor` is an elevation, m.

    `seal` is what pipes pass its wall through ("" for that of the first bed it drains), `headroom` (m) the
    free height above its rim; `x` and `y` (m), `lies` and `wall` (m) are as those of a `Bed`.
    """

    name: str
    floor: float
    shape: Shape
    seal: str = ""
    headroom: float | None = None
    x: float | None = None
    y: float | None = None
    lies: str = "along x"
    wall: float | None = None

    @property
    def rim(self) -> float:
        """Elevation of the top of the wall, m."""
        return self.floor + self.shape.depth


@dataclass(frozen=True)
class Standpipe:
    """The siphon's standpipe: `height` of the lip above the host vessel's floor, m.

    `lip_diameter` is the inside diameter of the lip (the bore itself, or a
    reducer's wide end). `entry` names the form from lip to bore: "square",
    "cone" or "rounded". `cone_length` is the height of the reducer, m. `foot`
    is the elevation (m) at which its bore ends and the tail's begins, None for
    the floor of the host.
    """

    pipe: Pipe
    height: float
    lip_diameter: float
    entry: str
    cone_length: float = 0.0
    foot: float | None = None

    @property
    def widest(self) -> float:
        """Outside diameter (m) where it is widest: the pipe's, or that of a lip as thick as the pipe."""
        pipe = self.pipe
        return max(pipe.outside_diameter, self.lip_diameter + pipe.outside_diameter - pipe.bore)


@dataclass(frozen=True)
class Bell:
    """The bell over the standpipe: `bore`, `outside_diameter`, heights above the host's floor, m.

    `openings`, `opening_width`, `opening_height` are the cut-outs at its foot;
    air enters at `rim_height`, the top of those openings. `top_height` is that
    of the underside of its top. `series` and `size`
    name the pipe it is made of; both are "" for any other vessel. `notch_height`
    is the top of a notch cut higher into the rim at one place, 0 for none.
    """

    bore: float
    outside_diameter: float
    top_height: float
    rim_height: float
    openings: int
    opening_width: float
    opening_height: float
    series: str = ""
    size: str = ""
    notch_height: float = 0.0


@dataclass(frozen=True)
class Tail:
    """The outlet pipe below the host vessel's floor, `length` m long, ending at elevation `outlet`, m.

    `enters` says how it comes into the sump: "over the rim", "through the wall" or None when not said.
    `outlet_is` says which part of its end is at that elevation: "centre" or "invert".
    """

    pipe: Pipe
    length: float
    fittings: tuple[Fitting, ...]
    outlet: float
    legs: tuple[Leg, ...] = ()
    enters: str | None = None
    outlet_is: str = "centre"

    @property
    def end(self) -> float:
        """Elevation of the middle of its end, down to which a siphon that runs full falls, m."""
        return self.outlet + (0.5 * self.pipe.bore if self.outlet_is == "invert" else 0.0)


@dataclass(frozen=True)
class Breather:
    """A tube of `bore` and `length` (m) that lets air into the bell's crown once its mouth is bare.

    `mouth` is the height of that end above the host's floor, m.
    """

    bore: float
    length: float
    mouth: float


@dataclass(frozen=True)
class Overflow:
    """A pipe that carries water off before anything spills: `bore` and `height` of its mouth, m."""

    bore: float
    height: float


@dataclass(frozen=True)
class Priming:
    """When the siphon starts: Froude number on the bore, with its band `froude_low` to `froude_high`.

    `observed` (m3/s) is the flow that the grower saw start it, or None; when
    given it replaces `froude`, and the band is `observed_error` (m3/s)
    to either side: in nine cases of ten it starts within.
    """

    froude: float = 0.55
    froude_low: float = 0.3
    froude_high: float = 1.0
    observed: float | None = None
    observed_error: float = 0.0


@dataclass(frozen=True)
class Stopping:
    """The highest inflow at which the grower saw it stop (m3/s), with its error; None when nobody looked.

    Seen with the tail's end free and the bell's rim `head` (m) above it; 0
    for as high as the plan has it. In nine cases of ten it stops up to
    `observed` less `observed_error`, and runs on from `observed` and `observed_error`.
    """

    observed: float | None = None
    observed_error: float = 0.0
    head: float = 0.0


@dataclass(frozen=True)
class Siphon:
    """A bell siphon that stands in the chamber or bed named `host`.

    `lip_weir` (m^0.5/s per metre of lip) and `lip_orifice` are the
    coefficients of the lip law, `media_guard` the inside diameter (m) of a
    guard that keeps media off, 0 without one.
    `tested` names the parts with which the flows under `priming` and `stopping`
    were observed (`aquacalc.plan.tested`): they hold for no others. "" says that
    they hold whatever the parts.
    """

    name: str
    host: str
    standpipe: Standpipe
    bell: Bell
    tail: Tail
    priming: Priming = field(default_factory=Priming)
    media_guard: float = 0.0
    lip_weir: float = 1.71
    lip_orifice: float = 0.60
    stopping: Stopping = field(default_factory=Stopping)
    tested: str = ""
    breather: Breather | None = None
    overflow: Overflow | None = None


#: Wall over the sump's highest water within which it may run over: levels are good to 5 mm, vessels stand out
#: of level and water has waves (common practice, no source), m.
BRIM = 0.010


@dataclass(frozen=True)
class Sump:
    """The one sump; `water_level` is above its floor (m) when the beds are as `measured_with` says.

    `freeboard` is what shall stay dry below its rim, m. `x` and `y` (m), `lies` and `wall` (m) are as those
    of a `Bed`.
    """

    name: str
    floor: float
    shape: Shape
    water_level: float
    measured_with: str  # "beds drained" or "beds flooded"
    freeboard: float = 0.020
    x: float | None = None
    y: float | None = None
    lies: str = "along x"
    wall: float | None = None

    @property
    def rim(self) -> float:
        """Elevation of the top of the wall, m."""
        return self.floor + self.shape.depth

    @property
    def full(self) -> float:
        """Highest elevation of its water, m: under the freeboard, and not within `BRIM` of the rim."""
        return self.rim - max(self.freeboard, BRIM)


@dataclass(frozen=True)
class Delivery:
    """The pipe from pump to beds, `length` m long, ending at elevation `outlet`, m.

    `check_valve` is "none" or "fitted"; `legs` its way from the pump where that is given.
    """

    pipe: Pipe
    length: float
    fittings: tuple[Fitting, ...]
    outlet: float
    check_valve: str = "none"
    legs: tuple[Leg, ...] = ()


@dataclass(frozen=True)
class Pump:
    """The pump: a constant flow (m3/s), or a curve of (flow, head) pairs with its delivery pipe.

    `intake` is the height above the sump floor (m) that must stay covered.
    `power` in W, for running cost. A timer runs it for `on` (s), then not for `off` (s); None without one.
    """

    flow: float | None
    curve: tuple[tuple[float, float], ...]
    delivery: Delivery | None
    intake: float
    power: float = 0.0
    on: float | None = None
    off: float | None = None


@dataclass(frozen=True)
class Limits:
    """What the grower asks of the plan; findings are measured against these.

    `bed_freeboard` m; `floods_low`, `floods_high` per hour; `residual` is the
    depth of water (m above the outlet) a drained bed may keep; `stop_margin`
    the part of the siphon's flow at the rim kept as a margin; `strainer_ratio`
    open area over bore area; `floor_load` kg/m2 or 0 for none stated.
    """

    bed_freeboard: float = 0.02
    floods_low: float = 1.0
    floods_high: float = 6.0
    residual: float = 0.02
    stop_margin: float = 0.10
    strainer_ratio: float = 1.5
    floor_load: float = 0.0


@dataclass(frozen=True, repr=False)
class Plan:
    """Everything on one sump; `water_temperature` in degC.

    `text` is the TOML it was read from ("" when built in code). `marks` holds,
    by path, the marks that do not follow from the value alone;
    `aquacalc.plan.marks.mark_of` tells the mark of any value.
    """

    name: str
    note: str
    datum: str
    units: str  # "metric" or "us"
    water_temperature: float  # degC
    beds: tuple[Bed, ...]
    runs: tuple[Run, ...]
    tees: tuple[Tee, ...]
    chambers: tuple[Chamber, ...]
    siphons: tuple[Siphon, ...]
    sump: Sump
    pump: Pump
    limits: Limits = field(default_factory=Limits)
    text: str = field(default="", compare=False, repr=False)
    marks: Mapping[str, Mark] = field(default_factory=dict, compare=False, repr=False)

    def __repr__(self) -> str:
        """Name it, and count what is in it."""
        parts = ((len(self.beds), "bed"), (len(self.chambers), "chamber"), (len(self.siphons), "siphon"))
        counts = ", ".join(f"{n} {what}{'s' * (n != 1)}" for n, what in parts)
        return f"<plan {self.name!r}: {counts}>"

    @property
    def vessels(self) -> tuple[Bed | Chamber, ...]:
        """Beds, then chambers."""
        return (*self.beds, *self.chambers)

    def vessel(self, name: str) -> Bed | Chamber:
        """Return the bed or chamber called `name`; KeyError when there is none."""
        return self._vessels[name]

    def bed(self, name: str) -> Bed:
        """Return the bed called `name`; KeyError when there is none."""
        vessel = self._vessels[name]
        if not isinstance(vessel, Bed):
            raise KeyError(name)
        return vessel

    def lip_level(self, siphon: Siphon) -> float:
        """Elevation of a siphon's lip, over which its beds begin to drain, m."""
        return self.vessel(siphon.host).floor + siphon.standpipe.height

    def rim_level(self, siphon: Siphon) -> float:
        """Elevation of a bell's rim, where air gets in and the siphon stops, m."""
        return self.vessel(siphon.host).floor + siphon.bell.rim_height

    def crown_level(self, siphon: Siphon) -> float:
        """Elevation of the top of a bell's inside, m."""
        return self.vessel(siphon.host).floor + siphon.bell.top_height

    def siphon(self, name: str) -> Siphon:
        """Return the siphon called `name`; KeyError when there is none."""
        return self._siphons[name]

    def siphon_in(self, host: str) -> Siphon | None:
        """Return the siphon that stands in the vessel called `host`, or None."""
        return self._hosted.get(host)

    def tee(self, name: str) -> Tee | None:
        """Return the tee called `name`, or None."""
        return self._tees.get(name)

    def run_from(self, name: str) -> Run | None:
        """Return the run out of the bed or tee called `name`, or None."""
        return self._runs.get(name)

    def way(self, name: str) -> list[Run]:
        """Return the runs that lead from the bed or tee called `name` to its siphon, in order of flow."""
        found: list[Run] = []
        while name in self._runs:
            found.append(self._runs[name])
            name = found[-1].to
        return found

    @cached_property
    def _siphons(self) -> dict[str, Siphon]:
        return {siphon.name: siphon for siphon in self.siphons}

    @cached_property
    def _hosted(self) -> dict[str, Siphon]:
        return {siphon.host: siphon for siphon in self.siphons}

    @cached_property
    def _tees(self) -> dict[str, Tee]:
        return {tee.name: tee for tee in self.tees}

    @cached_property
    def _runs(self) -> dict[str, Run]:
        return {run.start: run for run in self.runs}

    @cached_property
    def _vessels(self) -> dict[str, Bed | Chamber]:
        return {vessel.name: vessel for vessel in self.vessels}
