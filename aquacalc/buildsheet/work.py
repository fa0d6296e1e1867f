"""Tools and time: what the build takes besides parts."""

from __future__ import annotations

import math
import tomllib
from functools import cache
from importlib.resources import files

from aquacalc.buildsheet.cut_list import CutList
from aquacalc.buildsheet.drilling import Cutout, Hole
from aquacalc.buildsheet.lengths import said
from aquacalc.buildsheet.stock import Workshop
from aquacalc.buildsheet.table import Table
from aquacalc.geometry.strainers import StrainerCut
from aquacalc.plan.model import Plan


@cache
def _listed() -> dict:
    return tomllib.loads((files("aquacalc.buildsheet") / "work.toml").read_text(encoding="utf-8"))


def tools_table(
    plan: Plan, holes: tuple[Hole, ...], strained: tuple[StrainerCut, ...], workshop: Workshop
) -> Table:
    """Return the table: tools, with the hole saws and bits that this plan's holes take."""
    rows = [(tool["tool"], tool["use"], "") for tool in _listed()["tool"]]
    sizes: dict[tuple[float, ...], list[str]] = {}
    for hole in holes:
        sizes.setdefault(hole.diameters, []).append(hole.vessel)
    for diameters, vessels in sorted(sizes.items()):
        if not diameters:
            what = "hole saw for the seal or fitting supplied"
        else:
            what = "hole saw " + " or ".join(said(d, plan.units) for d in diameters)
        mine = any(h.saw for h in holes if h.diameters == diameters)
        have = "yours" if mine else "borrow or buy" if workshop.hole_saws else ""
        rows.append((what, ", ".join(dict.fromkeys(vessels)), have))
    for cut in strained:
        wide = said(cut.width, plan.units)
        what = f"drill bit {wide}" if cut.kind == "holes" else f"saw or bit that cuts {wide} wide"
        rows.append((what, f"strainer of {cut.bed}", ""))
    joined: dict[str, tuple[list[str], str]] = {}
    for tool, use, have in rows:
        joined.setdefault(tool, ([], have))[0].append(use)
    made = tuple((tool, ", ".join(uses), have) for tool, (uses, have) in joined.items())
    return Table("tools", "Tools", "", ("tool", "for", "yours or to get"), made)


def time_table(
    plan: Plan, cuts: CutList, holes: tuple[Hole, ...], strained: tuple[StrainerCut, ...],
    bells: tuple[Cutout, ...]
) -> Table:  # fmt: skip
    """Return the table: time, for somebody who has done it before and for somebody who has not."""
    media = sum(bed.shape.volume(bed.media.depth) * 1e3 for bed in plan.beds)
    counts = {
        "pieces": len(cuts.cuts),
        "holes": len(holes),
        "openings": sum(c.count for c in strained) + sum(b.count for b in bells),
        "joints": sum((c.into_first > 0.0) + (c.into_last > 0.0) for c in cuts.cuts),
        "vessels": len(plan.beds) + len(plan.chambers) + 1,
        "media": math.ceil(media / 10.0),
        "siphons": len(plan.siphons),
        "once": 1,
    }
    rows, low, high = [], 0.0, 0.0
    for work in _listed()["work"]:
        n, (short, long) = counts[work["counts"]], work["minutes"]
        rows.append((work["work"], str(n), f"{short:g} to {long:g}", f"{n * short:.0f} to {n * long:.0f}"))
        low, high = low + n * short, high + n * long
    total = ("together", "", "", f"{low / 60.0:.0f} to {high / 60.0:.0f} h")
    note = "Minutes are common practice, no source: from hands that know the work to a first time."
    intro = "For one person. Frames, benches and shopping come on top, and a day for cement to cure."
    return Table(
        "time", "Time", intro,
        ("work", "how many", "minutes each", "minutes"), tuple(rows), total, (note,),
    )  # fmt: skip
