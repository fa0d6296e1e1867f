"""What a bed weighs, dry, in use and full to the rim, and what it lays on its supports. SI units."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.equations.formulas import water_density
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Bed, Plan
from aquacalc.plan.network import host_of

CAUTION = (
    "These are the masses of vessel, media and water only. People, stands, roofs and snow come on top. "
    "Whether a floor, bench, roof or balcony carries them is a matter for local codes and a licensed "
    "practitioner: ask before you fill."
)


@dataclass(frozen=True)
class BedWeight:
    """Masses (kg) and loads of one bed.

    Attributes
    ----------
    bed : str
    vessel, media : float
        Empty mass of the plan and dry media.
    water : float
        At the flood level.
    water_full : float
        With the outlet blocked and water at the rim.
    dry, wet, full : float
        Vessel and media; with water at the flood level; with water at the rim.
    supports : int
    per_support : float
        Full, on each of its supports if all carry alike, kg.
    area : float
        Inside plan area at the floor (a half drum: of its widest), m2.
    per_area : float
        Full, kg/m2.
    limit : float
        Load the plan says the floor takes, kg/m2; 0 when not stated.
    """

    bed: str
    vessel: float
    media: float
    water: float
    water_full: float
    dry: float
    wet: float
    full: float
    supports: int
    per_support: float
    area: float
    per_area: float
    limit: float

    @property
    def over(self) -> bool:
        """Whether the bed lays more on its area than the plan allows."""
        return 0.0 < self.limit < self.per_area


def bed_weight(plan: Plan, bed: Bed) -> BedWeight:
    """Weigh one bed of a plan."""
    host = plan.vessel(host_of(plan)[bed.name])
    siphon = next(s for s in plan.siphons if s.host == host.name)
    cells = vessel_cells(plan, bed)
    flood = min(plan.lip_level(siphon), bed.rim)
    density = water_density(plan.water_temperature)
    media = bed.shape.volume(bed.media.depth) * bed.media.bulk_density
    water, full = (density * volume_at(cells, z) for z in (max(flood, bed.floor), bed.rim))
    dry = bed.empty_mass + media
    area = bed.shape.footprint()
    return BedWeight(
        bed=bed.name,
        vessel=bed.empty_mass,
        media=media,
        water=water,
        water_full=full,
        dry=dry,
        wet=dry + water,
        full=dry + full,
        supports=bed.supports,
        per_support=(dry + full) / bed.supports,
        area=area,
        per_area=(dry + full) / area,
        limit=plan.limits.floor_load,
    )


def weights(plan: Plan) -> tuple[BedWeight, ...]:
    """Weigh every bed."""
    return tuple(bed_weight(plan, bed) for bed in plan.beds)
