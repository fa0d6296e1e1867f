"""The page "What this rests on": equation by equation, table by table, and what we found no source for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from html import escape

from aquacalc import __version__
from aquacalc.catalogue import data_dir, read_table, seals, sidecar
from aquacalc.equations import RECORDS, TOPICS, Equation, algebra
from aquacalc.evidence.choices import Contradiction, contradictions
from aquacalc.evidence.documentation import branches, example
from aquacalc.evidence.engine import CONSTANTS
from aquacalc.evidence.given import Given
from aquacalc.evidence.kinds import COUNTED, MEANING, best
from aquacalc.evidence.outside import (
    Outside,
    best_kinds,
    held_by,
    outside,
    shown_difference,
    shown_ours,
)
from aquacalc.evidence.unpublished import unpublished
from aquacalc.pages.maths import mathml, source_text
from aquacalc.pages.skeleton import skeleton
from aquacalc.plan.model import Plan
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.units import KINDS, show

TABLE_NAMES = ("pipes", "fittings", "media", "seals", "sockets", "takeoffs")
SOLVER_WORDS = (
    "The plans below were run in three solvers: scipy at tight tolerance with the friction of fluids, the "
    "storm water simulator SWMM with its own control rules starting and stopping the siphon, and the water "
    "network simulator EPANET for the draining while pipes run full (it knows no siphon that starts and "
    "stops, and its friction is Swamee-Jain, up to 3 % from Colebrook's). They take from this package the "
    "plan, the level that each outlet drains to, the law of the air that a jump carries off, and the list of "
    "the pieces of each path with bore, length and loss coefficient (EPANET also tables of the vessels, and "
    "the viscosity): what is wrong in these is wrong in all. Friction, flows, levels, and the moments of "
    "start and stop they find on their own. The tests hold levels and volumes second by second as well."
)


def demo_plan() -> Plan:
    """Return the plan that the effects are worked out on."""
    return read_plan(data_dir() / "plans" / "greenhouse.toml")


def page() -> str:
    """Write the page.

    Returns
    -------
    str
        A whole HTML page: no script, nothing fetched.
    """
    plan = demo_plan()
    found: dict[tuple[str, str], list[Outside]] = {
        ("equation", key): sorted(values, key=lambda value: list(MEANING).index(value.kind))
        for key, values in held_by().items()
    }
    for value in outside():
        if value.of != "equation":
            found.setdefault((value.of, value.subject), []).append(value)
    body = [
        *_head(),
        *_contents(),
        "<main>",
        *_equations(found),
        *_tables(found),
        *_engine(found),
        *_systems(),
        *_contradictions(plan),
        *_works(),
        *_unpublished(plan),
        "</main>",
    ]
    foot = (
        f"Written by aquacalc {__version__}. Our values and the effects on the plan were worked out when "
        "this page was written."
    )
    return skeleton("What this rests on", "\n".join(body), kind="evidence", foot=foot)


def _head() -> Iterator[str]:
    kinds = best_kinds()
    rest = [key for key, kind in kinds.items() if kind not in COUNTED]
    values = outside()
    states = Counter(v.kind for v in values if v.points == 1)
    grids = {(v.subject, v.cited): int(v.points) for v in values if v.points > 1}
    yield (
        "<header><h1>What this rests on</h1>"
        f"<p><strong>{len(kinds) - len(rest)} of {len(kinds)} equations rest on print that was read, here or "
        "second-hand or recomputed, or on a reference library.</strong> Each equation is counted by the best "
        "value that holds it:</p>"
    )
    totals = Counter(kinds.values())
    rows = [(kind, words, str(totals[kind]), str(states[kind])) for kind, words in MEANING.items()]
    heads = ("kind", "what it means", "equations, by their best", "values in all")
    yield _table("Equations by the best kind of value", heads, rows, "kinds")
    yield "<p>The rest, by name:</p><ul>"
    for kind in MEANING:
        names = [f'<a href="#{k}">{escape(RECORDS[k].title)}</a>' for k in rest if kinds[k] == kind]
        if names:
            yield f"<li>{escape(kind)}: {'; '.join(names)}.</li>"
    yield (
        f"</ul><p>Libraries give {len(grids)} more comparisons, over a range: {sum(grids.values())} points. "
        "The list is written by the tests from their own cases; our value beside each was worked out when "
        "this page was made. Change any coefficient by 3 %, up or down, and at least one value here "
        "notices; so it is with the numbers of the tables, except counts and common practice. Where the only "
        "value is our own arithmetic, that guards against a slip of the pen and shows nothing more. Left out "
        "is the Froude number at which a siphon is taken to start, which is a choice within a band.</p>"
        "</header>"
    )


def _contents() -> Iterator[str]:
    links = [(_topic_id(topic), topic) for topic in TOPICS]
    links += [("tables", "tables"), ("engine", "engine"), ("systems", "whole plans")]
    links += [
        ("contradictions", "where sources disagree"),
        ("works", "works"),
        ("unpublished", "what we found no source for"),
    ]
    items = "".join(f'<li><a href="#{i}">{escape(t)}</a></li>' for i, t in links)
    yield f'<nav aria-label="Contents"><ul>{items}</ul></nav>'


def _topic_id(topic: str) -> str:
    return "topic-" + topic.replace(" ", "-")


def _equations(found: dict) -> Iterator[str]:
    for topic in TOPICS:
        records = [r for r in RECORDS.values() if r.topic == topic]
        yield f'<section aria-labelledby="{_topic_id(topic)}"><h2 id="{_topic_id(topic)}">'
        yield f"Equations: {escape(topic)}</h2>"
        for record in records:
            yield from _equation(record, found[("equation", record.key)])
        yield "</section>"


def _equation(record: Equation, values: list[Outside]) -> Iterator[str]:
    yield f'<article class="equation"><h3 id="{record.key}">{escape(record.title)}</h3>'
    yield '<div class="math" tabindex="0" role="group" aria-label="formulas">'
    for relation, more in branches(record.key):
        eq = algebra.parse(relation)
        symbols = (*record.symbols, *more)
        latex = {s.key: s.latex for s in symbols}
        plain = {s.key: s.key for s in symbols}
        row = f"{algebra.latex(eq.lhs, latex)} = {algebra.latex(eq.rhs, latex)}"
        words = f"{algebra.text(eq.lhs, plain)} = {algebra.text(eq.rhs, plain)}"
        yield f"<div>{mathml(row, words)}</div>"
    kind = best(v.kind for v in values)
    yield f'</div><p class="soft">Source: {escape(source_text(record))}. Best value: {escape(kind)}.</p>'
    if record.assumptions:
        yield f"<p>Assumes: {escape(' '.join(record.assumptions))}</p>"
    rows = [(f"{s.name}, {s.key}", _span(s), s.why) for s in record.symbols]
    rows += [(m.name, f"{m.low:g} to {m.high:g}", m.why) for m in record.limits]
    table = _table(f"Range of {record.title}", ("quantity", "range", "because"), rows)
    yield f"<details><summary>range in which it holds</summary>{table}</details>"
    yield _cases(f"Values for {record.title}", values, record)
    yield f"<details><summary>in Python</summary><pre>{escape(example(record.key))}</pre></details>"
    yield "</article>"


def _span(symbol) -> str:
    low, high = (show(x, symbol.kind, digits=3) for x in (symbol.low, symbol.high))
    return escape(f"{low} to {high}")


def _table(
    title: str, heads: Sequence[str], rows: Iterable[Iterable[str]], style: str = "", bold: str = ""
) -> str:
    """Write a table; the first cell of a row is its heading, and the row that `bold` heads stands out."""
    top = "".join(f"<th scope=col>{escape(h)}</th>" for h in heads)
    body = []
    for first, *cells in rows:
        data = "".join(
            f'<td data-label="{escape(head)}">{escape(cell)}</td>'
            for head, cell in zip(heads[1:], cells, strict=True)
        )
        own = ' class="own"' if bold and first.endswith(bold) else ""
        body.append(f'<tr{own}><th scope="row">{escape(first)}</th>{data}</tr>')
    return (
        f'<div class="scroll" tabindex="0" role="group" aria-label="{escape(title)}"><table class="{style}">'
        f'<caption><span class="unseen">{escape(title)}</span></caption><thead><tr>{top}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )


def _cases(title: str, values: Iterable[Outside], record: Equation | None = None) -> str:
    """Write the table of values; `record` is the equation it stands under."""
    heads = ("at", "printed", "ours", "difference", "who gives it")
    return _table(title, heads, (_case(v, record) for v in values), "cases")


def _case(value: Outside, record: Equation | None) -> tuple[str, ...]:
    if value.of == "table":
        at = f"{', '.join(value.row.values())}: {value.place.replace('_', ' ')}"
    elif value.of == "engine":
        at = value.subject
    else:
        at = ", ".join(_inputs(value.asked)) or "no inputs"
        # What is found is said where it is not what the equation above gives.
        if record is None or value.subject != record.key:
            at = f"{value.place} of {RECORDS[value.subject].title} from {at}"
        elif value.place != record.output.key:
            at = f"{value.place} from {at}"
    who = f"{value.cited} ({value.kind})"
    if value.points > 1:
        who += f"; one of {value.points:.0f} points"
    printed = f"{value.printed} {value.unit}".rstrip()
    return at, printed, shown_ours(value), shown_difference(value), who


def _inputs(asked: Given) -> Iterator[str]:
    """Write "D = 0.0266 m", which does not break across lines, or "Q by Pump duty point (...)"."""
    record = RECORDS[asked.equation]
    for key, value in asked.inputs.items():
        if isinstance(value, Given):
            yield f"{key} by {RECORDS[value.equation].title} ({', '.join(_inputs(value))})"
        else:
            unit = KINDS[record.symbol(key).kind].si
            # Neither space nor minus sign may end a line.
            yield f"{key} = {value:.10g} {unit}".rstrip().replace(" ", "\u00a0").replace("-", "\u2011")


def _tables(found: dict) -> Iterator[str]:
    yield '<section aria-labelledby="tables"><h2 id="tables">Tables</h2>'
    for name in TABLE_NAMES:
        described, values = sidecar(name), found[("table", name)]
        yield f"<h3>{escape(described['title'])}</h3><ul class='sources'>"
        for source in described["source"].values():
            yield (
                f"<li>{escape(source['primary'])} ({escape(source['status'])}; "
                f"{escape(source['how_read'])}). "
                f'<span class="soft">Uncertainty: {escape(source["uncertainty"])}.</span></li>'
            )
        yield f"</ul><details><summary>{len(values)} values</summary>"
        yield _cases(f"Values for {described['title']}", values) + "</details>"
    yield "</section>"


def _engine(found: dict) -> Iterator[str]:
    yield '<section aria-labelledby="engine"><h2 id="engine">Constants of the engine</h2>'
    yield "<p>What the engine takes besides the equations, read back through its own functions.</p>"
    yield _cases("Constants of the engine", [v for name in CONSTANTS for v in found[("engine", name)]])
    items = "".join(f"<li>{escape(c.name)}: {escape(c.why)}.</li>" for c in CONSTANTS.values())
    yield f"<details><summary>why each is taken</summary><ul>{items}</ul></details></section>"


def _systems() -> Iterator[str]:
    yield '<section aria-labelledby="systems"><h2 id="systems">Whole plans in other solvers</h2>'
    yield f"<p>{escape(SOLVER_WORDS)}</p>"
    rows = []
    for r in read_table("evidence-system"):
        part = 100.0 * (float(r["ours"]) / float(r["theirs"]) - 1.0)
        name = r["layout"] + (f", {r['siphon']}" if r["siphon"] != "siphon" else "")
        theirs, ours = (f"{r[who]} {r['unit']}" for who in ("theirs", "ours"))
        rows.append((f"{name}: {r['quantity']}", theirs, ours, f"{part:+.2f} %", r["solver"]))
    heads = ("plan and quantity", "theirs", "ours", "difference", "solver")
    yield _table("Whole plans in other solvers", heads, rows, "cases") + "</section>"


def _contradictions(plan: Plan) -> Iterator[str]:
    yield '<section aria-labelledby="contradictions"><h2 id="contradictions">Where sources disagree</h2>'
    yield (
        f"<p>What was chosen, why, and what each choice does to the demo plan, “{escape(plan.name)}” (its "
        f"numbers are invented), whose inflow is {show(plan.pump.flow, 'flow', plan.units)}. The choice "
        "taken "
        "is in bold.</p>"
    )
    for contradiction in contradictions():
        yield from _contradiction(contradiction, plan)
    yield from _holes()
    yield "</section>"


def _contradiction(contradiction: Contradiction, plan: Plan) -> Iterator[str]:
    yield f"<h3>{escape(contradiction.title)}</h3><p>{escape(contradiction.sources)}</p>"
    yield f"<p><strong>Chosen:</strong> {escape(contradiction.why)}</p>"
    rows = [
        (
            f"{e.choice} (taken)" if e.chosen else e.choice,
            e.outcome,
            show(e.period, "time", plan.units) if e.period else "-",
            show(e.drain_time, "time", plan.units) if e.drain_time else "-",
            show(e.start, "flow", plan.units),
            show(e.stop, "flow", plan.units),
            show(e.head, "length", plan.units),
        )
        for e in contradiction.effects(plan)
    ]
    heads = (
        "choice",
        "what it does",
        "one cycle",
        "running full",
        "starts at",
        "stops below",
        "head over the lip",
    )
    yield _table(f"Effect of {contradiction.title}", heads, rows, "wide chosen", "(taken)")


def _holes() -> Iterator[str]:
    yield "<h3>Hole for a pipe seal</h3>"
    yield (
        "<p>No standard gives the hole for a rubber pipe seal or a tank fitting. Lists that are passed "
        "around "
        "disagree where one pipe has more than one hole below; all are kept and every drilling schedule says "
        '"check the seal supplied". No flow depends on it, but a hole cannot be made smaller.</p>'
    )
    by: dict[tuple[str, str], list] = {}
    for seal in seals():
        by.setdefault((seal.series, seal.size), []).append(seal)
    rows = []
    for (series, size), holes in by.items():
        rubber = sorted({h.hole_diameter for h in holes if h.fitting == "rubber pipe seal"})
        tank = sorted({h.hole_diameter for h in holes if h.fitting == "tank fitting"})
        if len(rubber) < 2 and set(rubber) == set(tank):
            continue
        sides = (" or ".join(show(x, "length") for x in found) or "-" for found in (rubber, tank))
        rows.append((f"{series}, {size}", *sides))
    table = _table("Holes that differ", ("pipe", "rubber pipe seal", "tank fitting"), rows, "wide")
    yield f"<details><summary>pipes whose holes differ</summary>{table}</details>"


def _works() -> Iterator[str]:
    yield '<section aria-labelledby="works"><h2 id="works">Works</h2>'
    yield "<p>Everything that a value above was taken from, and how it was reached.</p>"
    rows = (
        (f"{r['author']}: {r['title']}", r["published"], f"{r['values']:.0f}")
        for r in read_table("evidence-works")
    )
    heads = ("work", "published, or how it was reached", "values")
    yield _table("Works", heads, rows, "kinds") + "</section>"


def _unpublished(plan: Plan) -> Iterator[str]:
    yield '<section aria-labelledby="unpublished"><h2 id="unpublished">What we found no source for</h2>'
    yield (
        "<p>Three things that every siphon's answer depends on were found in no work. What follows from them "
        "is "
        "said with the demo plan's numbers, which are invented.</p>"
    )
    for item in unpublished(plan, run_plan(plan, trace=False)):
        yield f"<article><h3>{escape(item.title)}</h3><p>{escape(item.missing)}</p><dl>"
        for word, words in (
            ("How it is treated", item.treated),
            ("In the demo plan", item.here),
            ("Your own observation", item.replaced),
        ):
            yield f"<dt><strong>{word}</strong></dt><dd>{escape(words)}</dd>"
        yield "</dl></article>"
    yield "</section>"
