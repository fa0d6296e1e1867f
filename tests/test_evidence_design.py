"""A design in print that works must not be refused: a media bed of FAO Technical Paper 589.

FAO Fisheries and Aquaculture Technical Paper 589 (Somerville et al. 2014): a
standpipe of 25 mm with a 25-to-40 mm adaptor on top, a bell of 75 mm and a
media guard of 110 mm (Appendix 8, read); 200 to 500 L/h to a bed of 1 to 3 m2
(from memory). By outside diameter, 25 mm pipe has a bore of 21.2 mm and the
adaptor one of 34 mm.
"""

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.findings import find
from aquacalc.plan.edit import put
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan

SIZES = {
    "siphon.standpipe.series": "ISO 1452 PN16",
    "siphon.standpipe.size": "25 mm",
    "siphon.standpipe.lip_diameter": 0.034,
    "siphon.tail.series": "ISO 1452 PN16",
    "siphon.tail.size": "25 mm",
    "siphon.bell.series": "ISO 1452 PN16",
    "siphon.bell.size": "75 mm",
    "siphon.media_guard": 0.110,
}


@pytest.mark.outside
@pytest.mark.parametrize("litres_an_hour", [200, 350, 500])
def test_start_is_called_uncertain_and_not_refused(litres_an_hour):
    """Froude 0.35 to 0.86 on the bore: inside the band, so neither promised nor ruled out."""
    plan = read_plan(data_dir().parent / "tests" / "plans" / "inside-bed.toml")
    plan = put(plan, SIZES | {"pump.flow": litres_an_hour / 3.6e6})
    assert plan.siphons[0].standpipe.pipe.bore == 0.0212
    run = run_plan(plan)
    found = {f.key: f for f in find(run) if f.subject == "siphon"}
    assert found["start"].state == "may or may not"
    assert found["stop"].state == "good"
    if litres_an_hour > 300:  # above the central threshold of 0.55
        assert run.groups[0].outcome == "cycles"
        assert found["cycle"].state == "good"
