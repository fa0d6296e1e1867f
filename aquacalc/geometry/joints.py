"""How deep a pipe goes into a fitting, and where in a fitting or wall it stops.

Lengths in m. A take-off is the way from a fitting's middle, or from the inside
face of a vessel's wall, to the end of the pipe; negative where the pipe goes
beyond it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from aquacalc import catalogue
from aquacalc.plan.model import Pipe

#: A wall whose thickness is not in the plan (common practice, no source), m.
USUAL_WALL = 0.005
#: How far a take-off may be off by its source in data/, m; a bend by half its bore.
DOUBTS = {"iso": 0.002, "stop": 0.002}
UNKNOWN, SEAL_DOUBT = 0.020, 0.004
#: A standpipe of another size than its tail goes this far through the floor before its socket, m.
STUB = 0.030


@dataclass(frozen=True)
class Joint:
    """What a piece of pipe ends in.

    Attributes
    ----------
    name : str
        "bend 90, short", "rubber pipe seal of bed 1", "open end".
    take_off : float
        From the joint's middle or face to the end of the pipe, m.
    socket : float
        How deep the pipe is cemented or pushed in, m; 0 where there is no socket.
    chamfer : float
        Part of a negative take-off that is the chamfered end, m.
    turn : float
        By how much the joint turns the pipe, degrees.
    measure : bool
        True where only the part itself gives a trustworthy take-off.
    doubt : float
        How far the take-off may be off, m.
    room : float
        What wall and seal take of the pipe beyond the inside face, m.
    """

    name: str
    take_off: float = 0.0
    socket: float = 0.0
    chamfer: float = 0.0
    turn: float = 0.0
    measure: bool = False
    room: float = 0.0
    doubt: float = 0.0

    @property
    def least(self) -> float:
        """What a piece needs on this side, from the joint's middle or face, m."""
        return self.room or self.take_off + self.socket


@cache
def _sockets() -> dict[tuple[str, str], float]:
    return {(r["series"], r["size"]): r["depth"] / 1e3 for r in catalogue.read_table("sockets")}


@cache
def _take_offs() -> dict[str, dict]:
    return {r["fitting"]: r for r in catalogue.read_table("takeoffs")}


@cache
def _passages() -> dict[str, dict]:
    return {r["fitting"]: r for r in catalogue.read_table("passages")}


def socket_depth(pipe: Pipe) -> float:
    """Depth (m) of a socket for `pipe`: by series and size, else half its outside diameter and 6 mm."""
    return _sockets().get((pipe.series, pipe.size), 0.5 * pipe.outside_diameter + 0.006)


@cache
def next_size(series: str, least: float) -> Pipe:
    """Narrowest pipe with at least this bore (m): of the series if it has one, else of any."""
    own = catalogue.sizes(series) if series in catalogue.series() else ()
    fits = [s for s in own if s.bore >= least]
    fits = fits or [s for n in catalogue.series() for s in catalogue.sizes(n) if s.bore >= least]
    if not fits:
        return Pipe(catalogue.OWN, f"bore at least {least * 1e3:.0f} mm", least, least + 0.006, 0.0)
    found = min(fits, key=lambda s: s.bore)
    return Pipe(found.series, found.size, found.bore, found.outside_diameter, found.roughness)


def fitting_joint(name: str, pipe: Pipe) -> Joint:
    """Joint of a fitting of the tables, or of one that only the plan knows, on `pipe`."""
    row = _take_offs().get(name)
    if row is None:
        return Joint(name, socket=socket_depth(pipe), measure=True, doubt=UNKNOWN)
    doubt = 0.5 * pipe.bore if row["source"] == "radius" else DOUBTS.get(row["source"], UNKNOWN)
    off = row["per_outside"] * pipe.outside_diameter + row["per_bore"] * pipe.bore + row["fixed"] / 1e3
    return Joint(
        name, off, socket_depth(pipe), turn=row["turn"], measure=row["source"] == "body", doubt=doubt
    )


def passage(seal: str, pipe: Pipe, vessel: str, inside: bool = False, wall: float = USUAL_WALL) -> Joint:
    """Joint where `pipe` goes through a wall of `vessel`.

    Parameters
    ----------
    seal : str
        "rubber pipe seal" or "tank fitting".
    pipe : Pipe
    vessel : str
    inside : bool
        True for the pipe that stands in the vessel, as a standpipe does.
    wall : float
        Thickness of the wall, m.
    """
    row = _passages()[seal]
    name = f"{seal} of {vessel}"
    if row["socket_less"] is None:
        chamfer = row["chamfer"] / 1e3
        return Joint(
            name,
            -(row["above_face"] / 1e3 + chamfer),
            0.0,
            chamfer,
            room=wall + row["outside"] / 1e3,
            doubt=SEAL_DOUBT,
        )
    depth = socket_depth(pipe)
    stop = max(depth - row["socket_less"] / 1e3, 0.0)
    return Joint(name, -stop if inside else stop, depth, measure=True, doubt=UNKNOWN)
