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
from aquacalc.report.records import Cell, Row, Section, Working
from aquacalc.report.wording import line, rows_of, section, table
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import ATMOSPHERE, Crest, Window, crests, sump_range
from aquacalc.units import show

ENTRIES = {"square": "square edge", "cone": "cone (a reducer)", "rounded": "rounded edge"}


def window_section(plan: Plan, siphon: Siphon, window: Window) -> Section:
    """Build the inflow window: the flows between which the siphon starts and stops."""
    bore, p, row = siphon.standpipe.pipe.bore, siphon.priming, rows_of("window")

    def start(key: str, flow: float, froude: float, reading: str, middle: str = "") -> Row:
        if window.observed:
            return row(key, flow, note=f"your own reading{reading}")
        choked = Working("choking_flow", {"Fr": froude, "D": bore, "g": GRAVITY})
        return row(key, flow, choked, note=f"Froude number {froude:g}{middle}")

    rows = [row("today", window.today)]
    if plan.pump.curve:
        rows += [row("today_low", window.today_low), row("today_high", window.today_high)]
    rows += [
        start("start_low", window.start_low, p.froude_low, ", less its error"),
        start("start", window.start, p.froude, "", ", the middle estimate"),
        start("start_high", window.start_high, p.froude_high, " and its error"),
    ]
    if window.stop > 0.0:
        rows += _stops(plan, siphon, window)
    return section("window", siphon.name, rows=rows)


def _stops(plan: Plan, siphon: Siphon, window: Window) -> tuple[Row, Row]:
    """Rows of the flow above which it runs on, and of the flow to keep below."""
    row = rows_of("window")
    if window.stop_observed:
        note = "your own readings and their error, for the sump at its highest"
        kept = "the same readings, less their error"
        return row("stop", window.stop, note=note), row(
            "stop_with_margin", window.stop_with_margin, note=kept
        )
    stop, note = None, "the most that it may carry with the water down where air gets in"
    if window.tail_full == "full":
        note = None
        if window.stop == window.stop_least:
            stop = siphon_working(plan, siphon, window.head_at_rim, window.stop)
    highest = Working("highest_inflow", {"Q_s": window.stop_least, "m": window.margin})
    return (
        row("stop", window.stop, stop, note=note),
        row("stop_with_margin", window.stop_with_margin, highest, margin=100 * window.margin),
    )


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
    row = rows_of("standpipe")
    rows = [
        row("pipe", f"{stand.pipe.size}, {stand.pipe.series}"),
        row("bore", bore),
        row("lip_diameter", lip, entry=ENTRIES[stand.entry]),
        row("lip", group.lip),
        row("choking_flow", choking, choked, reason=reason),
    ]
    if inflow > 0.0:
        froude = Working("froude_bore", {"Q": inflow, "D": bore, "g": GRAVITY})
        head = Working("lip_head", law | {"D": lip, "Q": inflow})
        rows += [
            row("froude", froude_bore(inflow, bore, GRAVITY), froude),
            row("lip_head", lip_head(weir, orifice, lip, inflow, GRAVITY), head),
        ]
    trapped = Working("trapped_air", {"D_b": bell.bore, "c": bell.top_height - stand.height, "h": 0.0})
    purging = Working("purge_time", {"V_a": air, "Q": choking, "Fr": PURGE_FROUDE[1]})
    rows += [
        row("priming_head", priming, primed),
        row("priming_level", group.start_level),
        row("trapped_air", air, trapped),
        row("purge_time", middle, purging, low=short, high=long, purged=purged),
    ]
    return section("standpipe", siphon.name, rows=rows)


def siphon_section(plan: Plan, run: SystemCycle, siphon: Siphon) -> Section:
    """Build the figures of the running siphon."""
    sump, row = sump_range(plan, run), rows_of("siphon")
    at_lip, at_rim = crests(plan, siphon, sump)
    path, bore, temperature = siphon_path(plan, siphon), siphon.standpipe.pipe.bore, plan.water_temperature
    rows, tables = [], []
    rim_sump = min(sump.high, plan.sump.rim)
    for key, where, crest, level in (("lip", "lip", at_lip, sump.low), ("rim", "bell rim", at_rim, rim_sump)):
        head = siphon_head(siphon, crest.level, level)
        rows.append(row("head", head, name=f"head_{key}", where=where))
        if crest.flow == 0.0:
            continue
        worked = siphon_working(plan, siphon, head, crest.flow)
        rows.append(row("flow", crest.flow, worked, name=f"flow_{key}", where=where))
        worked = Working("pipe_velocity", {"Q": crest.flow, "D": bore})
        rows.append(row("velocity", crest.velocity, worked, name=f"velocity_{key}", where=where))
        if crest.flow > 0.0:
            lines = (line(p.name, p.length or None, *piece_cells(plan, p, crest.flow)) for p in path)
            note = None if key == "rim" else ""
            tables.append(table("head", lines, name=f"head_{key}", note=note, where=where))
    lowest = min(at_lip, at_rim, key=lambda c: c.pressure)
    bell, stand = siphon.bell, siphon.standpipe
    outside = max(stand.pipe.outside_diameter, stand.lip_diameter)
    openings, annulus, *_ = path
    cut = {"n": float(bell.openings), "w": bell.opening_width, "l": bell.opening_height}
    ring = Working("annulus_area", {"D_b": bell.bore, "D_o": outside})
    boils = Working("vapour_pressure", {"T": temperature})
    rows += [
        row("crest_pressure", lowest.pressure, crest_working(plan, lowest)),
        row("vapour_pressure", vapour_pressure(temperature), boils),
        row("bore_area", circle_area(bore), Working("circle_area", {"D": bore})),
        row("annulus_area", annulus.area, ring),
        row("openings_area", openings.area, Working("slot_area", cut), openings=bell.openings),
    ]
    return section("siphon", siphon.name, rows=rows, tables=tables)


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
