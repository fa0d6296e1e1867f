"""What a report costs as beds are added: `python -m tests.benchmarks.bench_beds`.

Beds side by side on one level, in rows of so many on a line of tees into one chamber whose siphon grows with
them; seconds of a core for each part of the work, and the power of the number of beds with which it grows.
"""

from __future__ import annotations

import argparse
import math
import time

from aquacalc.engine.packing import pack
from aquacalc.findings import find
from aquacalc.geometry.contacts import contacts
from aquacalc.geometry.space import space
from aquacalc.plan import Plan, check_plan, plan_from_text
from aquacalc.report.content import build_report
from aquacalc.report.text import text
from aquacalc.results.cycle import run_plan
from tests.frozen import interpreted

COUNTS = (12, 25, 50, 100, 200)
LINE = 'series = "ASTM D1785 schedule 40"\nsize = "{}"\n'
BED = """[[bed]]
name = "bed {}"
length = "1.2 m"
width = "500 mm"
depth = "300 mm"
floor = "0.700 m"
media = "expanded clay"
media_depth = "270 mm"
strainer = {{ kind = "slots", count = 28, width = "3 mm", length = "25 mm" }}
"""
REST = """[[chamber]]
name = "chamber"
diameter = "{chamber:.3f} m"
depth = "520 mm"
floor = "500 mm"
[[siphon]]
name = "siphon"
[siphon.standpipe]
{pipe}height = "430 mm"
lip_diameter = "{lip:.2f} mm"
entry = "cone"
cone_length = "30 mm"
[siphon.bell]
series = "own"
size = "own"
bore = "{bell:.2f} mm"
outside_diameter = "{bell_outside:.2f} mm"
top_height = "465 mm"
rim_height = "30 mm"
[siphon.tail]
{pipe}length = "0.55 m"
fittings = ["bend 90, short", "bend 90, short", "exit"]
outlet = "0.320 m"
[sump]
name = "sump"
diameter = "{sump:.3f} m"
depth = "700 mm"
floor = "-400 mm"
water_level = "610 mm"
[pump]
flow = "{flow} L/min"
"""


def plan_text(count: int, row: int, size: str = "1-1/2 in") -> str:
    """Return a plan of so many beds, in rows of `row` beds on one line of tees each, of pipe of this size."""
    line = LINE.format(size)
    scale = math.sqrt(count / 3.0)  # areas grow with the flow
    bore = 26.6 * scale
    own = f'series = "own"\nsize = "own"\nbore = "{bore:.2f} mm"\noutside_diameter = "{bore + 8.0:.2f} mm"\n'
    made = ['[plan]\nname = "Many beds"\n', *(BED.format(n) for n in range(1, count + 1))]
    for first in range(1, count + 1, row):
        last, fittings = f"bed {first}", '["entrance, square", "bend 90, short"]'
        for along, n in enumerate(range(first + 1, min(first + row, count + 1))):
            tee = f"tee {n}"
            made += [
                f'[[tee]]\nname = "{tee}"\nelevation = "{0.59 - 0.02 * along / row:.4f} m"\n',
                f'[[run]]\nfrom = "{last}"\nto = "{tee}"\n{line}length = "1.44 m"\nfittings = {fittings}\n',
                f'[[run]]\nfrom = "bed {n}"\nto = "{tee}"\n{line}length = "120 mm"\n'
                'fittings = ["entrance, square", "tee, branch"]\n',
            ]
            last, fittings = tee, '["tee, in line"]'
        out = '["exit"]' if "tee" in last else '["entrance, square", "bend 90, short", "exit"]'
        made.append(
            f'[[run]]\nfrom = "{last}"\nto = "chamber"\n{line}length = "0.8 m"\nfittings = {out}\n'
            'outfall = "0.560 m"\n'
        )
    rest = REST.format(
        chamber=0.25 * scale, pipe=own + 'roughness = "0.0015 mm"\n', lip=1.5376 * bore, bell=3.0 * bore,
        bell_outside=3.0 * bore + 8.0, sump=0.9 * scale, flow=6 * count,
    )  # fmt: skip
    return "".join([*made, rest])


def seconds(work, *given) -> tuple[float, object]:
    """Return how long a core worked, and what came of it."""
    began = time.process_time()
    found = work(*given)
    return time.process_time() - began, found


def parts(count: int, row: int, size: str) -> dict[str, float]:
    """Return the seconds of each part."""
    taken: dict[str, float] = {}
    taken["reading"], plan = seconds(plan_from_text, plan_text(count, row, size))
    assert isinstance(plan, Plan)
    taken["checking"], _ = seconds(check_plan, plan)
    taken["packing"], _ = seconds(pack, plan)
    taken["geometry"], placed = seconds(space, plan)
    taken["contacts"], _ = seconds(contacts, placed)
    taken["one run"], run = seconds(run_plan, plan)
    taken["findings"], _ = seconds(find, run)
    taken["whole report"], _ = seconds(lambda: text(build_report(plan)))
    return taken


def power(counts: list[int], taken: list[float]) -> float:
    """Return the slope of the logarithms."""
    x, y = ([math.log(v) for v in values] for values in (counts, taken))
    mx, my = sum(x) / len(x), sum(y) / len(y)
    return sum((a - mx) * (b - my) for a, b in zip(x, y, strict=True)) / sum((a - mx) ** 2 for a in x)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("counts", nargs="*", type=int, default=COUNTS)
    parser.add_argument("--row", type=int, default=5, help="beds on one line")
    parser.add_argument("--size", default="1-1/2 in", help="of the drain lines")
    given = parser.parse_args()
    counts, found = list(given.counts), []
    interpreted()  # as a single command works
    parts(3, given.row, given.size)  # imports
    for count in counts:
        found.append(parts(count, given.row, given.size))
        print(f"{count} beds: " + ", ".join(f"{name} {s:.2f} s" for name, s in found[-1].items()), flush=True)
    print(f"\n| Part | {' | '.join(map(str, counts))} | Power |\n|---|{'---|' * (len(counts) + 1)}")
    for name in found[0]:
        row = [one[name] for one in found]
        print(f"| {name} | {' | '.join(f'{s:.2f}' for s in row)} | {power(counts, row):.2f} |")


if __name__ == "__main__":
    main()
