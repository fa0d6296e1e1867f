"""The sheet to take to the bench: drawing, steps, cautions and an empty table."""

from __future__ import annotations

import tomllib
from html import escape
from pathlib import Path

from aquacalc.bench.drawing import setup_drawing
from aquacalc.bench.jug import jug_time
from aquacalc.bench.next_flow import round_flows
from aquacalc.bench.session import MOST_TRIALS, Bench
from aquacalc.bench.words import flow_text, next_line, opening, tested
from aquacalc.pages.skeleton import skeleton
from aquacalc.units import show


def page(bench: Bench) -> str:
    """Return the sheet as one HTML page that opens offline and prints.

    Parameters
    ----------
    bench : Bench
        With or without trials: the first flow to try is printed on it.

    Returns
    -------
    str
    """
    plan, siphon, s = bench.plan, bench.siphon, bench.plan.units
    deep = siphon.bell.top_height + 0.05
    # A bucket barely wider than the bell would do; twice its width is usual.
    litres = 0.785 * (2.0 * siphon.bell.outside_diameter) ** 2 * siphon.standpipe.height
    fill = {
        "deep": show(deep, "length", s),
        "drop": show(plan.vessel(siphon.host).floor - siphon.tail.outlet + 0.05, "length", s),
        "mass": show(1000.0 * litres, "mass", s, digits=1),
    }
    said = tomllib.loads(Path(__file__).with_name("sheet.toml").read_text(encoding="utf-8"))
    svg, alt = setup_drawing(plan, siphon)
    title = f"Bench test: {siphon.name}, {plan.name}"
    body = [f"<h1>{escape(title)}</h1>"]
    body += [f"<p>{escape(line)}</p>" for line in opening(bench)]
    body.append(
        "<p>A bucket, a hose and a jug show where, before anything is cut for good. Two to six trials "
        f"settle most plans; {MOST_TRIALS} are the most.</p>"
    )
    body.append(f"<figure>{svg}<figcaption>{escape(alt)}</figcaption></figure>")
    body.append('<h2>Cautions</h2><ul class="cautions">')
    body += [f"<li>{escape(line.format(**fill))}</li>" for line in said["cautions"]]
    body.append("</ul><h2>Parts tested</h2>")
    body.append(
        "<p>The result holds for these and no others. Measure them and correct the plan first.</p><ul>"
    )
    body += [f"<li>{escape(line[:1].upper() + line[1:])}</li>" for line in tested(bench)]
    body.append('</ul><h2>Set up</h2><ol class="steps">')
    body += [f"<li>{escape(line.format(**fill))}</li>" for line in said["set_up"]]
    body.append('</ol><h2>A trial</h2><ol class="steps">')
    body += [f"<li>{escape(line)}</li>" for line in said["trial"]]
    body.append(
        f"</ol><p><strong>First: {escape(next_line(bench))}</strong> After each trial type it into "
        "<code>aquacalc bench</code>: it says which flow comes next, and when it is enough.</p>"
    )
    body += [_limits(), _jugs(bench), _trials()]
    return skeleton(title, "<main>\n" + "\n".join(body) + "\n</main>", kind="bench")


def _jugs(bench: Bench) -> str:
    """Return a table of flows and the time that a jug takes."""
    low, high = bench.sizes
    flows = round_flows(0.8 * low, min(1.1 * high, bench.hose), bench.plan.units)
    step = max(1, len(flows) // 18)
    rows = [(flow_text(q, bench.plan.units), jug_time(q, bench.plan.units)) for q in flows[::step]]
    third = -(-len(rows) // 3)
    tables = []
    for at in range(0, len(rows), third):
        cells = "".join(f"<tr><th scope=row>{a}</th><td>{b}</td></tr>" for a, b in rows[at : at + third])
        tables.append(
            f"<table><thead><tr><th>Flow</th><th>Jug</th></tr></thead><tbody>{cells}</tbody></table>"
        )
    return f'<h2 class="page">Flow by jug</h2><div class="columns">{"".join(tables)}</div>'


def _trials() -> str:
    """Return the empty table."""
    names = ("", "Flow asked", "Jug: volume in time", "Started, after min", "Did not in 10 min", "Stopped",
             "Ran on", "Remarks")  # fmt: skip
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    row = "".join("<td></td>" for _ in names[1:])
    rows = "".join(f"<tr><td>{n}</td>{row}</tr>" for n in range(1, MOST_TRIALS + 1))
    return (
        "<h2>Trials</h2><p>Date: ____________ Water: ______ By: ____________</p>"
        '<div class="scroll" tabindex="0"><table class="trials">'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _limits() -> str:
    return (
        "<h2>How far to trust it</h2><p>A bucket fills quicker than a bed, but what decides is the "
        "flow over the lip, and that is the same. The bench does not show what comes later: roots in "
        "the tail, a bell that sits crooked, a tail that ends under water. Such a tail starts later "
        "and carries less. The same readings taken at the bed go the same way, with <code>aquacalc "
        "bench --bed</code>.</p>"
    )
