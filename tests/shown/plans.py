"""Plans that are looked at: every file, some with parts that no file has, some drawn by number."""

from __future__ import annotations

from pathlib import Path

from aquacalc.plan.write import write_plan
from tests.geometry import test_bins
from tests.pairs import pairs
from tests.pairs.demo_edits import edited

ROOT = Path(__file__).parents[2]


def _every_part() -> dict[str, str]:
    """Plans with parts that no plan file has."""
    places = test_bins.bins(*test_bins.GOOD, test_bins.PLACES, test_bins.HERE)
    timer = edited(
        pairs.timer("15 min", "30 min"),
        ("pump.delivery", {"check_valve": '"fitted"'}),
        ("siphon.breather", {"bore": '"4 mm"', "length": '"0.5 m"', "mouth": '"60 mm"'}),
        ("siphon.overflow", {"bore": '"40 mm"', "height": '"460 mm"'}),
        ("siphon.bell", {"notch_height": '"40 mm"'}),
        ("siphon.stopping", {"observed": '"34 L/min"', "observed_error": '"2 L/min"'}),
        ("chamber", {"headroom": '"600 mm"', "wall": '"5 mm"'}),
        ("bed 1", {"wall": '"4 mm"', "ribs": '["300 mm", "900 mm"]', "outlet_along": '"450 mm"'}),
        ("bed 2", {"strainer": '{ kind = "holes", count = 60, width = "5 mm", fixing = "in a coupling" }'}),
        (
            "bed 3",
            {
                "strainer": '{ kind = "slots", count = 30, width = "3 mm", length = "25 mm", '
                'fixing = "media guard" }'
            },
        ),
    )
    boxes = '[["0 L/min", "3.3 m"], ["78 L/min", "0 m"]]'
    us = edited(
        ("pump", {"flow": None, "curve": boxes}),
        ("plan", {"units": '"us"'}),
        ("siphon.tail", {"size": '"3/4 in"', "outlet": '"-0.100 m"', "length": '"0.9 m"'}),
        ("siphon.priming", {"froude": "0.6", "froude_low": "0.4", "froude_high": "0.9"}),
        ("bed 1", {"shape": '"oval"'}),
        ("bed 3", {"outlet": '"side"', "outlet_height": '"30 mm"'}),
        ("run 4", {"length": '"0.3 m"'}),
    )
    table = '["0 mm", "150 mm", "300 mm"]', '["0.50 m2", "0.55 m2", "0.60 m2"]'
    odd = edited(
        (
            "bed 2",
            {
                "shape": '"table"',
                "length": None,
                "width": None,
                "depth": None,
                "depths": table[0],
                "areas": table[1],
            },
        ),
        ("siphon.standpipe", {"foot": '"0.430 m"', "entry": '"rounded"'}),
        ("sump", {"measured_with": '"beds flooded"', "water_level": '"300 mm"'}),
        ("pump.delivery", {"outlet": '"0.850 m"'}),
        ("limits", {"floor_load": '"100 kg/m2"'}),
    )
    return {"bins": write_plan(places), "timer": timer, "us pump": us, "odd": odd}


def texts() -> dict[str, str]:
    """Return the text of each plan by name."""
    files = [
        path for folder in ("data/plans", "tests/plans") for path in sorted((ROOT / folder).glob("*.toml"))
    ]
    return {path.stem: path.read_text(encoding="utf-8") for path in files} | _every_part()


TEXTS = texts()
