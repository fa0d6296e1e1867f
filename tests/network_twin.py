"""The draining phase of a plan as an EPANET network, built with the general-purpose package `wntr`.

Beds and chamber become tanks, runs become Darcy-Weisbach pipes with local
losses, tees become junctions, and the running siphon becomes pipes in series
to a reservoir at the tail's outlet. EPANET knows no siphon that starts and
stops, so only the time from running full to the bell rim is compared.
"""

from __future__ import annotations

import math
import tempfile
from pathlib import Path

import wntr

from aquacalc.equations.formulas import water_kinematic_viscosity
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.paths import run_path, siphon_path
from aquacalc.hydraulics.storage import vessel_cells

#: EPANET's own unit of viscosity: 1.1e-5 ft2/s (its source, VISCOS in text.h; from memory).
EPANET_VISCOSITY = 1.1e-5 * 0.3048**2


def pipe(net, name, start, end, piece, extra=0.0):
    """Add one piece; openings that are only a loss become a short pipe of equal area."""
    if piece.length > 0:
        diameter, length, rough = piece.diameter, piece.length, piece.roughness
    else:
        diameter, length, rough = math.sqrt(4 * piece.area / math.pi), 0.001, 1e-7
    # a piece whose hydraulic diameter is not its bore (the annulus) keeps its area, its friction is tiny
    bore = math.sqrt(4 * piece.area / math.pi)
    if not math.isclose(bore, diameter, rel_tol=1e-6) and piece.length > 0:
        diameter = bore
    net.add_pipe(
        name, start, end, length=length, diameter=diameter, roughness=rough, minor_loss=piece.k + extra
    )


def tank(net, plan, vessel, level):
    cells = vessel_cells(plan, vessel)
    depth = 1.5 * vessel.shape.depth
    fine = [vessel.floor + depth * i / 80 for i in range(1, 81)]
    marks = sorted({*(round(z, 6) for z in (*cells.z0, *cells.z1, *fine))})
    curve = [(z - vessel.floor, volume_at(cells, z)) for z in marks]
    net.add_curve(vessel.name.replace(" ", "_"), "VOLUME", curve)
    net.add_tank(
        vessel.name.replace(" ", "_"),
        elevation=vessel.floor,
        init_level=level - vessel.floor,
        min_level=0.0,
        max_level=0.99 * depth,
        diameter=1.0,
        vol_curve=vessel.name.replace(" ", "_"),
    )


def drain(plan, levels, inflow, seconds):
    """Levels (name -> list, one a second) from `levels` on, with `inflow` (m3/s by bed) running."""
    net = wntr.network.WaterNetworkModel()
    net.options.hydraulic.headloss = "D-W"
    net.options.hydraulic.viscosity = water_kinematic_viscosity(plan.water_temperature) / EPANET_VISCOSITY
    net.options.hydraulic.accuracy = 1e-6
    net.options.hydraulic.trials = 200
    net.options.time.duration = seconds
    net.options.time.hydraulic_timestep = 1
    net.options.time.report_timestep = 1
    net.options.time.pattern_timestep = 3600
    key = lambda name: name.replace(" ", "_")  # noqa: E731
    for vessel in (*plan.beds, *plan.chambers):
        tank(net, plan, vessel, levels[vessel.name])
    for tee in plan.tees:
        net.add_junction(key(tee.name), base_demand=0.0, elevation=tee.elevation)
    for bed in plan.beds:
        net.add_junction(f"in_{key(bed.name)}", base_demand=-inflow[bed.name], elevation=bed.floor)
        net.add_pipe(f"feed_{key(bed.name)}", f"in_{key(bed.name)}", key(bed.name), 0.1, 0.3, 1e-6, 0.0)
    chains = [(run_path(plan, r), key(r.start), key(r.to), f"run_{key(r.start)}") for r in plan.runs]
    siphon = plan.siphons[0]
    net.add_reservoir("outlet", base_head=siphon.tail.outlet)
    chains.append((siphon_path(plan, siphon), key(siphon.host), "outlet", "siphon"))
    for pieces, start, end, name in chains:
        for i, piece in enumerate(pieces):
            last = i == len(pieces) - 1
            to = end if last else f"{name}_{i}"
            if not last:
                net.add_junction(to, base_demand=0.0, elevation=0.3)
            pipe(net, f"{name}_{i}_p", start, to, piece)
            start = to
    with tempfile.TemporaryDirectory() as folder:
        results = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(Path(folder) / "twin"))
    heads = results.node["head"]
    return {
        v.name: [float(x) for x in heads[key(v.name)]] for v in (*plan.beds, *plan.chambers)
    }, heads.index.to_list()
