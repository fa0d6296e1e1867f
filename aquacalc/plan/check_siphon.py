"""Whether the parts of a siphon go into each other, and its lip into the beds it drains."""

from __future__ import annotations

import math

from aquacalc.plan.errors import Checked
from aquacalc.plan.model import Bed, Chamber, Siphon
from aquacalc.plan.network import SLACK, check_ends, check_legs, check_length, host_of


def check_siphons(c: Checked):
    """Refuse a siphon whose parts do not go into each other, its host and the sump below."""
    for siphon in c.plan.siphons:
        place = f"siphon.{siphon.name}"
        _standpipe(c, siphon, f"{place}.standpipe")
        _bell(c, siphon, f"{place}.bell")
        p = siphon.priming
        if not p.froude_low <= p.froude <= p.froude_high:
            c.refuse(
                f"{place}.priming.froude",
                p.froude,
                f"is outside froude_low to froude_high ({p.froude_low:g} to {p.froude_high:g})",
                "keep it inside the band",
                "number",
            )
        for name, seen in (("priming", p), ("stopping", siphon.stopping)):
            if seen.observed is not None and seen.observed_error >= seen.observed:
                c.refuse(
                    f"{place}.{name}.observed_error",
                    seen.observed_error,
                    "is as large as the flow itself",
                    "give the reading error, a small part of observed",
                    "flow",
                )
        host = c.vessels.get(siphon.host)
        if host is None or not c.sound(f"bed.{host.name}", f"chamber.{host.name}"):
            continue
        _bell_in_host(c, siphon, host, f"{place}.bell")
        tail, rim = siphon.tail, c.plan.rim_level(siphon)
        check_ends(c, tail.fittings, f"{place}.tail", False, True)
        if tail.outlet >= rim:
            c.refuse(
                f"{place}.tail.outlet",
                tail.outlet,
                f"is not below the bell rim ({c.level(rim)}), so nothing is siphoned",
                "lead the tail lower",
                "elevation",
            )
        check_length(c, tail.length, abs(host.floor - tail.outlet), f"{place}.tail")
        level = tail.legs and tail.legs[-1].way not in ("down", "up")
        ends = tail.outlet + (0.5 * tail.pipe.bore if level else 0.0)
        check_legs(c, tail, host.floor, ends, f"{place}.tail")
        guard = siphon.media_guard
        if isinstance(host, Bed) and guard == 0.0:
            c.refuse(
                f"{place}.media_guard",
                "",
                "is missing: the siphon stands in media",
                "give the inside diameter of its media guard",
            )
        if guard and not siphon.bell.outside_diameter < guard < host.shape.narrowest():
            c.refuse(
                f"{place}.media_guard",
                guard,
                f"does not fit between the bell "
                f"({c.show(siphon.bell.outside_diameter)}) and {siphon.host} "
                f"({c.show(host.shape.narrowest())})",
                "choose another pipe for it",
            )


def _standpipe(c: Checked, siphon: Siphon, place: str):
    pipe, standpipe = siphon.standpipe.pipe, siphon.standpipe
    if standpipe.lip_diameter < pipe.bore - SLACK:
        c.refuse(
            f"{place}.lip_diameter",
            standpipe.lip_diameter,
            f"is less than the bore ({c.show(pipe.bore)})",
            "leave it out, or give the wide end of the reducer",
        )
    if standpipe.cone_length >= standpipe.height:
        c.refuse(
            f"{place}.cone_length",
            standpipe.cone_length,
            "is not less than the standpipe's height",
            "give the height of the reducer alone",
        )
    if standpipe.entry == "cone" and standpipe.lip_diameter > pipe.bore and standpipe.cone_length == 0.0:
        c.refuse(
            f"{place}.cone_length",
            standpipe.cone_length,
            "is zero for a cone",
            "give the height of the reducer",
        )


def _bell(c: Checked, siphon: Siphon, place: str):
    bell, standpipe = siphon.bell, siphon.standpipe
    if bell.bore >= bell.outside_diameter:
        c.refuse(f"{place}.bore", bell.bore, "is not less than the outside diameter", "measure both again")
    if bell.top_height <= standpipe.height:
        c.refuse(
            f"{place}.top_height",
            bell.top_height,
            f"is not above the lip ({c.show(standpipe.height)})",
            "lengthen the bell or shorten the standpipe",
        )
    if bell.rim_height >= standpipe.height:
        c.refuse(
            f"{place}.rim_height",
            bell.rim_height,
            f"is not below the lip ({c.show(standpipe.height)})",
            "cut the openings lower",
        )
    if bell.opening_height > bell.rim_height + SLACK:
        c.refuse(
            f"{place}.opening_height",
            bell.opening_height,
            f"reaches below the floor (the openings end at {c.show(bell.rim_height)})",
            "make it no more than rim_height",
        )
    if bell.bore <= standpipe.widest:
        c.refuse(
            f"{place}.bore",
            bell.bore,
            f"is not wider than the standpipe and its lip outside ({c.show(standpipe.widest)})",
            "choose a wider bell",
        )
    if bell.openings * bell.opening_width >= math.pi * bell.outside_diameter:
        c.refuse(
            f"{place}.opening_width",
            bell.opening_width,
            f"leaves nothing of the bell with {bell.openings} openings",
            "make them fewer or narrower",
        )


def _bell_in_host(c: Checked, siphon: Siphon, host: Bed | Chamber, place: str):
    if siphon.bell.outside_diameter >= host.shape.narrowest():
        c.refuse(
            f"{place}.outside_diameter",
            siphon.bell.outside_diameter,
            f"does not go into {host.name} ({c.show(host.shape.narrowest())})",
            "choose a narrower bell or a wider chamber",
        )


def check_lips(c: Checked):
    """Refuse a lip above the wall of its host or of a bed it drains, or below every bed's outlet."""
    hosts = host_of(c.plan)
    for siphon in c.plan.siphons:
        key = f"siphon.{siphon.name}.standpipe.height"
        host = c.vessels[siphon.host]
        if not c.sound(f"bed.{host.name}", f"chamber.{host.name}"):
            continue
        lip = c.plan.lip_level(siphon)
        if siphon.standpipe.height >= host.shape.depth:
            c.refuse(
                key,
                siphon.standpipe.height,
                f"puts the lip above the wall of {host.name} ({c.show(host.shape.depth)})",
                "shorten the standpipe",
            )
            continue
        group = [b for b in c.plan.beds if hosts[b.name] == siphon.host]
        if not c.sound(*(f"bed.{bed.name}" for bed in group)):
            continue
        bed = min(group, key=lambda bed: bed.rim, default=None)
        if bed and lip >= bed.rim:
            c.refuse(
                key,
                siphon.standpipe.height,
                f"puts the lip ({c.level(lip)}) above the wall of {bed.name} ({c.level(bed.rim)})",
                "shorten the standpipe or raise the bed",
            )
        if group and all(lip <= bed.outlet_invert for bed in group):
            lowest = min(bed.outlet_invert for bed in group)
            c.refuse(
                key,
                siphon.standpipe.height,
                f"puts the lip ({c.level(lip)}) below every "
                f"bed's outlet (lowest {c.level(lowest)}), so no bed floods",
                "lengthen the standpipe or lower the beds",
            )
