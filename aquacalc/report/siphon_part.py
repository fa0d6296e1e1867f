"""Report sections on one siphon: inflow window, standpipe, running siphon and where its head goes."""

from __future__ import annotations

from aquacalc.equations.formulas import (
    GRAVITY,
    circle_area,
    friction_factor,
    froude_bore,
    lip_head,
    vapour_pressure,
    water_density,
    water_kinematic_viscosity,
)
from aquacalc.equations.priming import PURGE_FROUDE
from aquacalc.hydraulics.paths import Piece, siphon_path
from aquacalc.hydraulics.siphon import siphon_head
from aquacalc.hydraulics.starting import choke, purge, start_band, trapped_air
from aquacalc.plan.model import Plan, Siphon
from aquacalc.report.records import Cell, Column, Line, Row, Section, Table, Working
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import ATMOSPHERE, Crest, Window, crests, sump_range
from aquacalc.units import show

ENTRIES = {"square": "square edge", "cone": "cone (a reducer)", "rounded": "rounded edge"}


def window_section(plan: Plan, siphon: Siphon, window: Window) -> Section:
    """Build the inflow window: the flows between which the siphon starts and stops."""
    bore, p = siphon.standpipe.pipe.bore, siphon.priming

    def start(key: str, label: str, flow: float, froude: float, note: str) -> Row:
        working = (
            None if window.observed else Working("choking_flow", {"Fr": froude, "D": bore, "g": GRAVITY})
        )
        return Row(key, label, flow, "flow", note, working)

    by = "your own reading, less its error" if window.observed else f"Froude number {p.froude_low:g}"
    to = "your own reading and its error" if window.observed else f"Froude number {p.froude_high:g}"
    middle = "your own reading" if window.observed else f"Froude number {p.froude:g}, the middle estimate"
    rows = [
        Row("today", "Inflow today", window.today, "flow", "what the pump delivers to this siphon's beds"),
        start("start_low", "Very likely no start below", window.start_low, p.froude_low, by),
        start("start", "Middle of the band", window.start, p.froude, middle),
        start("start_high", "Very likely starts from", window.start_high, p.froude_high, to),
    ]
    if plan.pump.curve:
        low, high = (
            "with the sump at its lowest, just before the siphon starts",
            "with the sump at its highest",
        )
        rows.insert(1, Row("today_low", "Inflow, lowest", window.today_low, "flow", low))
        rows.insert(2, Row("today_high", "Inflow, highest", window.today_high, "flow", high))
    if window.stop > 0.0:
        full = window.tail_full == "full" and window.stop == window.stop_least
        stop = None
        if full and not window.stop_observed:
            stop = siphon_working(plan, siphon, window.head_at_rim, window.stop)
        note = "siphon's flow with the water down where air gets in; more than this and none does"
        if window.tail_full != "full":
            note = "the most that it may carry with the water down where air gets in"
        if window.stop_observed:
            note = "your own readings and their error, for the sump at its highest"
        rows.append(Row("stop", "Runs on above", window.stop, "flow", note, stop))
        values = {"Q_s": window.stop_least, "m": window.margin}
        note = f"{100 * window.margin:.3g} % under the least that it may carry there"
        working = Working("highest_inflow", values)
        if window.stop_observed:
            note, working = "the same readings, less their error", None
        rows.append(Row("stop_with_margin", "Keep below", window.stop_with_margin, "flow", note, working))
    intro = (
        "A siphon starts when enough water comes to fill its bore, and stops when less comes than it carries "
        "with the water down at the bell rim. Between the flow that does not start it and the flow "
        "that does, it may go either way: no published table was found."
    )
    return Section("window", "Inflow window", intro, siphon.name, tuple(rows))


def standpipe_section(plan: Plan, run: SystemCycle, siphon: Siphon) -> Section:
    """Build the figures of the standpipe: lip, bore, choking and priming."""
    stand, p, group = siphon.standpipe, siphon.priming, run.group(siphon.name)
    bell, bore, lip = siphon.bell, stand.pipe.bore, stand.lip_diameter
    law = {"C_w": siphon.lip_weir, "C_d": siphon.lip_orifice, "g": GRAVITY}
    weir, orifice = siphon.lip_weir, siphon.lip_orifice
    choking, inflow = choke(siphon), group.inflow
    priming = lip_head(weir, orifice, lip, choking, GRAVITY)
    if not start_band(siphon).measured:
        primed = Working("priming_head", law | {"D_l": lip, "Fr": p.froude, "D": bore})
        reason = f"Froude number {p.froude:g}; it may be anything in the band"
        choked = Working("choking_flow", {"Fr": p.froude, "D": bore, "g": GRAVITY})
    else:
        primed, choked = Working("lip_head", law | {"D": lip, "Q": choking}), None
        reason = "the lowest flow that you saw start it"
    air = trapped_air(siphon)
    short, middle, long = purge(siphon)
    purged = "an estimate; no measured times were found"
    if group.priming_time > 0.0 and group.inflow > choking:
        cycle = show(group.priming_time, "time", plan.units)
        purged = f"{purged}; as more comes over the lip meanwhile, it takes {cycle} in this plan's cycle"
    rows = [
        Row("pipe", "Standpipe", f"{stand.pipe.size}, {stand.pipe.series}", "text"),
        Row("bore", "Bore", bore, "length", "inside diameter; this is what has to fill"),
        Row("lip_diameter", "Lip diameter", lip, "length", ENTRIES[stand.entry]),
        Row("lip", "Lip level", group.lip, "elevation", "flood level of the chamber before the head below"),
        Row("choking_flow", "Choking flow", choking, "flow", reason, choked),
    ]
    if inflow > 0.0:
        froude = Working("froude_bore", {"Q": inflow, "D": bore, "g": GRAVITY})
        head = Working("lip_head", law | {"D": lip, "Q": inflow})
        rows += [
            Row("froude", "Froude number today", froude_bore(inflow, bore, GRAVITY), "number",
                "flow against gravity: below 0.3 a bore trickles, above 1 it runs full", froude),
            Row("lip_head", "Head over the lip today", lip_head(weir, orifice, lip, inflow, GRAVITY), "head",
                "how high the water would stand over the lip if the siphon did not start", head),
        ]  # fmt: skip
    rows += [
        Row("priming_head", "Priming head", priming, "head",
            "how high the water stands over the lip when the bore fills; a wider lip lowers it", primed),
        Row("priming_level", "Priming level", group.start_level, "elevation", "lip level plus priming head"),
        Row("trapped_air", "Air under the bell", air, "volume", "has to leave before the siphon runs full",
            Working("trapped_air", {"D_b": bell.bore, "c": bell.top_height - stand.height, "h": 0.0})),
        Row("purge_time", "Purge time at the choking flow", middle, "time", purged,
            Working("purge_time", {"V_a": air, "Q": choking, "Fr": PURGE_FROUDE[1]}), short, long),
    ]  # fmt: skip
    intro = (
        "Water over the lip falls down the bore. A wider lip (a reducer on top) passes the same flow at a "
        "lower head; the bore below alone decides at which flow it chokes, fills and drags the air out."
    )
    return Section("standpipe", "Standpipe", intro, siphon.name, tuple(rows))


def siphon_section(plan: Plan, run: SystemCycle, siphon: Siphon) -> Section:
    """Build the figures of the running siphon."""
    sump = sump_range(plan, run)
    at_lip, at_rim = crests(plan, siphon, sump)
    rim_sump = min(sump.high, plan.sump.rim)
    bore = siphon.standpipe.pipe.bore
    temperature = plan.water_temperature
    rows = []
    for key, where, crest, level in (("lip", "lip", at_lip, sump.low), ("rim", "bell rim", at_rim, rim_sump)):
        head = siphon_head(siphon, crest.level, level)
        rows.append(
            Row(f"head_{key}", f"Head at the {where}", head, "head",
                f"water at the {where} above the end of the tail, or above the sump where that is higher")
        )  # fmt: skip
        if crest.flow == 0.0:
            continue
        working = siphon_working(plan, siphon, head, crest.flow)
        rows.append(Row(f"flow_{key}", f"Flow at the {where}", crest.flow, "flow", "", working))
        working = Working("pipe_velocity", {"Q": crest.flow, "D": bore})
        rows.append(
            Row(
                f"velocity_{key}",
                f"Velocity at the {where}",
                crest.velocity,
                "velocity",
                "in the bore",
                working,
            )
        )
    lowest = min(at_lip, at_rim, key=lambda c: c.pressure)
    rows += [
        Row("crest_pressure", "Lowest pressure at the lip", lowest.pressure, "pressure",
            "absolute, at sea level; the air outside has 101.3 kPa (14.7 psi)", crest_working(plan, lowest)),
        Row("vapour_pressure", "Water boils at", vapour_pressure(temperature), "pressure",
            "the siphon tears apart below this", Working("vapour_pressure", {"T": temperature})),
    ]  # fmt: skip
    bell, stand = siphon.bell, siphon.standpipe
    outside = max(stand.pipe.outside_diameter, stand.lip_diameter)
    path = siphon_path(plan, siphon)
    openings, annulus, *_ = path
    cut = {"n": float(bell.openings), "w": bell.opening_width, "l": bell.opening_height}
    rows += [
        Row("bore_area", "Area of the bore", circle_area(bore), "opening_area", "",
            Working("circle_area", {"D": bore})),
        Row("annulus_area", "Area between bell and standpipe", annulus.area, "opening_area",
            "at the lip, where it is narrowest", Working("annulus_area", {"D_b": bell.bore, "D_o": outside})),
        Row("openings_area", "Area of the bell's openings", openings.area, "opening_area",
            f"{bell.openings} openings", Working("slot_area", cut)),
    ]  # fmt: skip
    tables = []
    for key, where, crest in (("lip", "lip", at_lip), ("rim", "bell rim", at_rim)):
        if crest.flow > 0.0:
            title = f"Where the head goes, water at the {where}"
            tables.append(
                head_table(plan, path, crest.flow, f"head_{key}", title, PIECE_NOTE if key == "rim" else "")
            )
    intro = "Once full, the siphon runs by its head: the water level above the end of its tail."
    return Section("siphon", "Running siphon", intro, siphon.name, tuple(rows), tuple(tables))


def siphon_working(plan: Plan, siphon: Siphon, head: float, flow: float) -> Working:
    """Put a siphon's `flow` (m3/s) at its `head` (m) as one equation.

    What other bores lose is referred to the standpipe's.
    """
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    pieces = siphon_path(plan, siphon)
    stand = next(p for p in pieces if p.name == "standpipe")
    same = [
        p
        for p in pieces
        if (p.area, p.roughness) == (stand.area, stand.roughness) and p.diameter == stand.diameter
    ]
    velocity = flow / stand.area
    elsewhere = sum(p.loss(flow, viscosity) for p in pieces if p not in same) * 2.0 * GRAVITY / velocity**2
    return Working(
        "siphon_flow",
        {
            "A": stand.area,
            "H": head,
            "K": elsewhere + sum(p.k for p in same),
            "f": friction_factor(velocity * stand.diameter / viscosity, stand.roughness / stand.diameter),
            "L": sum(p.length for p in same),
            "D": stand.diameter,
            "g": GRAVITY,
        },
    )


def crest_working(plan: Plan, crest: Crest) -> Working:
    """Equation of the pressure at the lip."""
    return Working(
        "crest_pressure",
        {
            "p_a": ATMOSPHERE,
            "rho": water_density(plan.water_temperature),
            "g": GRAVITY,
            "z": crest.height,
            "K": crest.loss,
            "v": crest.velocity,
        },
    )


def piece_cells(plan: Plan, piece: Piece, flow: float) -> tuple[Cell, ...]:
    """Velocity, friction factor, loss coefficient and head lost of one piece at a `flow` (m3/s)."""
    viscosity = water_kinematic_viscosity(plan.water_temperature)
    velocity = flow / piece.area
    speed = Cell(velocity, Working("mean_velocity", {"Q": flow, "A": piece.area}))
    lost = piece.loss(flow, viscosity)
    if piece.length == 0.0:
        working = Working("loss_head", {"K": piece.k, "v": velocity, "g": GRAVITY})
        return speed, Cell(None), Cell(piece.k), Cell(lost, working)
    reynolds, rough = velocity * piece.diameter / viscosity, piece.roughness / piece.diameter
    f = friction_factor(reynolds, rough)
    values = {"f": f, "L": piece.length, "D": piece.diameter, "K": piece.k, "Q": flow, "A": piece.area}
    factor = Cell(f, Working("friction_factor", {"Re": reynolds, "e": rough}))
    return speed, factor, Cell(piece.k), Cell(lost, Working("run_head", values | {"g": GRAVITY}))


PIECE_NOTE = (
    "The friction factor is for the pipe wall, the loss coefficient for bends, edges and exits; both cost "
    "head with the square of the velocity. Together the parts use up the siphon's whole head."
)
PIECE_COLUMNS = (
    Column("velocity", "Velocity", "velocity"),
    Column("friction", "Friction factor", "number"),
    Column("k", "Loss coefficient", "number"),
    Column("head", "Head lost", "head"),
)


def head_table(plan: Plan, pieces: list[Piece], flow: float, key: str, title: str, note: str = "") -> Table:
    """Build the table of where a path's head goes at a `flow` (m3/s)."""
    lines = tuple(
        Line(piece.name, (Cell(piece.length or None), *piece_cells(plan, piece, flow))) for piece in pieces
    )
    columns = (Column("length", "Length", "distance"), *PIECE_COLUMNS)
    return Table(key, title, "Part", columns, lines, note)
