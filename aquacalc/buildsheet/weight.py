"""What a bed weighs, dry, in use and full to the rim, and what it lays on its supports. SI units."""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.findings.beds import weight
from aquacalc.plan.model import Bed, Plan
from aquacalc.results.cycle import SystemCycle

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
        At its highest in a flood.
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


def bed_weight(plan: Plan, bed: Bed, level: float) -> BedWeight:
    """Weigh one bed of a plan, in use with the water up to `level` (m)."""
    flooded, full = weight(plan, bed, max(level, bed.floor)), weight(plan, bed, bed.rim)
    return BedWeight(
        bed=bed.name,
        vessel=bed.empty_mass,
        media=full.media,
        water=flooded.water,
        dry=bed.empty_mass + full.media,
        wet=flooded.total,
        full=full.total,
        supports=bed.supports,
        per_support=full.support,
        area=full.area,
        per_area=full.load,
        limit=plan.limits.floor_load,
    )


def weights(plan: Plan, run: SystemCycle) -> tuple[BedWeight, ...]:
    """Weigh every bed, flooded as high as its run floods it."""
    return tuple(bed_weight(plan, bed, run.node(bed.name).high) for bed in plan.beds)
