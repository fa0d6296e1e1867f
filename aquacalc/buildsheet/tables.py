"""The tables of the build, as a page and a spreadsheet have them."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path

from aquacalc.buildsheet.cut_list import Cut, CutList
from aquacalc.buildsheet.drilling import NOTCH, Cutout, Hole
from aquacalc.buildsheet.lengths import number as _long
from aquacalc.buildsheet.lengths import unit as _long_unit
from aquacalc.buildsheet.materials import Bill
from aquacalc.buildsheet.options import EACH, Option
from aquacalc.buildsheet.steps import Blank
from aquacalc.buildsheet.stock import Workshop
from aquacalc.buildsheet.table import Table
from aquacalc.buildsheet.weight import CAUTION, BedWeight
from aquacalc.geometry.strainers import FIXINGS, LEAST_BRIDGE, StrainerCut, outlet_level, outlet_run, sill
from aquacalc.plan.model import Pipe, Plan
from aquacalc.units import in_unit, show

#: How a strainer is put in that lies on a side outlet, whatever it would be on a floor.
ON_ITS_SIDE = "a capped tube lies in a coupling or the tank fitting of the outlet"
#: Of a piece whose way the plan leaves open.
MEASURE = "measure before cutting"


def _number(value: float | None, kind: str, system: str, digits: int = 3) -> str:
    """Write a number without its unit, which stands in the column's head."""
    if value is None:
        return ""
    number, _ = in_unit(value, kind, system)
    return f"{float(f'{number:.{digits}g}'):g}"


def _unit(kind: str, system: str) -> str:
    return in_unit(1.0, kind, system)[1]


def _series(pipes: Iterable[Pipe]) -> str:
    """Return the one series of all the pipes, or "" when there are several; a tube of air has none."""
    names = {pipe.series for pipe in pipes if pipe.series}
    return names.pop() if len(names) == 1 else ""


def _sized(pipe: Pipe, series: str) -> str:
    """Name a pipe by its size, and by its series where that is not the same everywhere."""
    return pipe.size if series else f"{pipe.series} {pipe.size}".strip()


def _cut_row(cut: Cut, series: str, system: str) -> tuple[str, ...]:
    return (
        cut.mark,
        cut.way,
        _sized(cut.pipe, series),
        cut.heading if cut.fits else f"{cut.heading}: DOES NOT FIT",
        f"{cut.first} > {cut.last}",
        _long(cut.centre, system),
        f"{_long(cut.into_first, system)} / {_long(cut.into_last, system)}",
        _long(cut.length, system),
        MEASURE if cut.sure is None else _long(cut.sure, system),
    )


def cuts_table(cuts: CutList, system: str = "metric") -> Table:
    """Return the table: cut list."""
    series = _series(c.pipe for c in cuts.cuts)
    total = sum(round(c.length * 1e3) for c in cuts.cuts) / 1e3
    unit = _long_unit(system)
    notes = [f"{way.name}: {note}" for way in cuts.ways for note in way.notes]
    chamfered = [c.mark for c in cuts.cuts if c.chamfer > 0.0]
    if chamfered:
        depth = _long(max(c.chamfer for c in cuts.cuts), system)
        notes.append(
            f"Chamfer the end that goes through a seal; {depth} {unit} for it are in the length of "
            f"{', '.join(chamfered)}."
        )
    return Table(
        "cut-list",
        "Cut list",
        (f"All pipe is {series}. " if series else "")
        + "Between middles: from the middle of one joint to the middle of the next, or to the inside face of "
        "a wall. Hidden: how far the pipe goes into the joint at each end; mark it before you push.",
        (
            "mark",
            "way",
            "pipe",
            "piece",
            "from > to",
            f"between middles, {unit}",
            f"hidden, {unit}",
            f"cut, {unit}",
            f"give or take, {unit}",
        ),
        tuple(_cut_row(c, series, system) for c in cuts.cuts),
        ("", "total", "", f"{len(cuts.cuts)} pieces", "", "", "", _long(total, system), ""),
        (
            *notes,
            "Sockets, take-offs and seals are those of data/: measure the fittings supplied before you cut.",
        ),
    )


def stock_table(cuts: CutList, workshop: Workshop, system: str = "metric") -> Table:
    """Return the table: nesting."""
    series = _series(c.pipe for c in cuts.cuts)
    rows, left, used, bars, sawn = [], 0, 0, 0.0, 0
    unit = _long_unit(system)
    for nested in cuts.nested:
        for bar in nested.nesting.bars:
            used_mm = sum(round(nested.cuts[i].length * 1e3) for i in bar.pieces)
            left_mm = round(bar.length * 1e3) - used_mm
            marks = " ".join(nested.cuts[i].mark for i in bar.pieces)
            lengths = (_long(mm / 1e3, system) for mm in (used_mm, left_mm))
            rows.append((_sized(nested.pipe, series), bar.source, _long(bar.length, system), marks, *lengths))
            sawn += len(bar.pieces) - (left_mm <= 0)
            left, used, bars = left + left_mm, used + used_mm, bars + bar.length
    share = 100.0 * left / max(bars * 1e3, 1.0)
    notes = [
        f"{share:.0f} % of the pipe that is cut into is left over, {sawn} saw cuts of "
        f"{_number(workshop.kerf, 'length', system)} {_unit('length', system)} included."
    ]
    for nested in cuts.nested:
        n = nested.nesting
        if n.method != "exact":
            over = 100.0 * (n.cost / n.bound - 1.0) if n.bound else 0.0
            notes.append(f"{nested.pipe.size}: within {over:.1f} % of the best there can be.")
    return Table(
        "stock",
        "Which length each piece comes from",
        "Offcuts first, then what is on the rack, then the shop. Cut the pieces in the order given.",
        ("pipe", "source", f"length, {unit}", "pieces", f"used, {unit}", f"left, {unit}"),
        tuple(rows),
        ("total", "", _long(bars, system), "", _long(used / 1e3, system), _long(left / 1e3, system)),
        tuple(notes),
    )


def holes_table(holes: tuple[Hole, ...], workshop: Workshop, system: str = "metric") -> Table:
    """Return the table: drilling schedule."""
    rows, unit = [], _long_unit(system)
    for h in holes:
        sizes = " or ".join(_long(d, system) for d in h.diameters) or "see the seal"
        saw = "" if h.saw is None else f"{h.saw * 1e3:g}" if system == "metric" else _long(h.saw, system)
        far = h.saw is None and h.diameters and workshop.hole_saws
        if h.wall == "floor":
            along, across = _long(h.along, system), _long(h.across, system)
            where = f"{h.place}: {along} {unit} from the end, {across} {unit} from the side"
        else:
            where = f"{h.place}: middle {_long(h.height, system)} {unit} above the floor inside"
        caution = h.caution + ("; none of your saws fits" if far else "")
        saws = (saw,) if workshop.hole_saws else ()
        rows.append((h.vessel, h.what, f"{h.fitting}, {h.pipe.size}", sizes, *saws, where, caution))
    intro = "Middles are from the inside faces. No standard fixes these holes: go by the fitting supplied."
    mine = (f"your saw, {unit}",) if workshop.hole_saws else ()
    return Table(
        "drilling",
        "Drilling schedule",
        intro,
        ("vessel", "hole", "for", f"hole, {unit}", *mine, "where", "check"),
        tuple(rows),
    )


def _step(metres: float, system: str) -> str:
    return f"{metres * 1e3:.1f}" if system == "metric" else f"{metres / 0.0254:.2f}"


def openings_table(plan: Plan, cuts: tuple[StrainerCut, ...], bells: tuple[Cutout, ...]) -> Table:
    """Return the table: strainers and bells."""
    rows, system = [], plan.units
    unit, area = ("mm", "cm²") if system == "metric" else ("in", "in²")
    part = 1e4 if system == "metric" else 1.0 / 0.0254**2

    def size_of(metres: float) -> str:
        if system == "metric":
            return f"{metres * 1e3:.3g}"
        near = abs(round(metres / 0.0254 * 16) - metres / 0.0254 * 16) < 0.01
        return _long(metres, system) if near else f"{metres / 0.0254:.3f}"

    for c in cuts:
        size = f"slot {size_of(c.width)} x {size_of(c.length)} {unit}"
        if c.kind != "slots":
            size = f"hole {size_of(c.width)} {unit}"
        rows.append(
            (
                f"strainer of {c.bed}",
                size,
                str(c.count),
                str(c.wanted),
                f"{c.rings} rings of {c.per_ring}; {_step(c.pitch, system)} {unit} along, "
                f"{_long(c.around, system)} around; first edge {_step(c.first, system)} {unit} from the "
                f"{c.foot}",
                f"{100 * c.wall_left:.0f}",
                f"{c.area * part:.1f}",
                f"{c.asked * part:.1f}",
            )
        )
    for b in bells:
        size = f"{size_of(b.width)} {unit} wide, {size_of(b.height)} {unit} high"
        where = (
            f"at the foot, top edge {size_of(b.top)} {unit} above it; middles {_long(b.around, system)} "
            f"{unit} around"
        )
        if b.notch:
            where += (
                f"; over one of them a notch {size_of(NOTCH)} {unit} wide, its top edge {size_of(b.notch)} "
                f"{unit} above the foot"
            )
        if b.breather:
            where += "; in the top a hole as tight as the breather's tube, sealed airtight"
        left = f"{100 * (1 - b.width / b.around):.0f}"
        rows.append(
            (
                f"bell of {b.siphon}",
                size,
                str(b.count),
                "",
                where,
                left,
                f"{b.count * b.width * b.height * part:.1f}",
                "",
            )
        )
    few = [c.bed for c in cuts if c.count < c.wanted]
    notes = [f"Too few openings for the area asked for: {', '.join(few)}."] if few else []
    notes.append(
        f"Half the wall, and bridges of at least {_step(LEAST_BRIDGE, system)} {unit}, are left between "
        "openings (common practice, no source)."
    )
    side = {bed.name for bed in plan.beds if bed.outlet == "side"}
    side -= {c.bed for c in cuts if c.foot == "foot"}
    notes += sorted(
        f"{c.bed}, strainer {_sized(c.pipe, '')}: {ON_ITS_SIDE if c.bed in side else FIXINGS[c.fixing]}."
        for c in cuts
    )
    return Table(
        "openings",
        "Strainers and bell openings",
        f"The area asked for is {plan.limits.strainer_ratio:g} times the bore, as the plan's limits say. "
        "Strainers go in without cement, so that they lift out.",
        (
            "piece",
            "opening",
            "count",
            "fewest for the area",
            "where",
            "wall left, %",
            f"area, {area}",
            f"area asked, {area}",
        ),
        tuple(rows),
        notes=tuple(notes),
    )


def outlets_table(plan: Plan) -> Table:
    """Return the table: the water that each bed's outlet leaves, and what other ways would leave."""
    rows, system = [], plan.units
    unit = _long_unit(system)
    for bed in plan.beds:
        if outlet_run(plan, bed) is None:
            continue
        made = bed.strainer.fixing if bed.strainer else "no strainer"
        others = [
            "" if bed.strainer is None else _long(bed.outlet_height + sill(plan, bed, f), system)
            for f in FIXINGS
        ]
        rows.append((bed.name, bed.outlet, made, _long(outlet_level(plan, bed) - bed.floor, system), *others))
    return Table(
        "outlets",
        "Outlets: the water that each way to make the strainer leaves",
        "All above the floor inside. The sill is what the outlet as made here cannot drain.",
        ("bed", "outlet", "strainer", f"sill, {unit}", *(f"{name}, {unit}" for name in FIXINGS)),
        tuple(rows),
        notes=(
            *(f"{name}: {how}." for name, how in FIXINGS.items()),
            f"side outlet: {ON_ITS_SIDE}; the bed drains to the outlet's invert.",
        ),
    )


def _plain(value: Decimal) -> str:
    """Write a Decimal without an exponent and without noughts after the point that say nothing."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def bill_table(listed: Bill, workshop: Workshop) -> Table:
    """Return the table: bill of materials."""
    names = {i.series for i in listed.items if i.series}
    series = names.pop() if len(names) == 1 else ""
    rows = tuple(
        (
            i.shop,
            i.item,
            i.size if series else f"{i.series} {i.size}".strip(),
            f"{series}: {i.use}" if series and i.item == "pipe" else i.use,
            _plain(i.quantity),
            i.unit,
            "" if i.price is None else f"{i.price:f}",
            "" if i.total is None else f"{i.total:f}",
        )
        for i in listed.items
    )
    currency = f", {listed.currency}" if listed.currency else ""
    notes = []
    if workshop.prices.lines:
        notes.append(f"Prices from {Path(workshop.prices.file).name}. {workshop.prices.note}".strip())
    if listed.unpriced:
        notes.append(f"{listed.unpriced} lines have no price and are not in the total.")
    notes.append(
        "Not in the plan and not here: frames and benches, the pipes from the end of the delivery to each "
        "bed and from a safety overflow to the sump, covers."
    )
    return Table(
        "materials",
        "Bill of materials",
        (f"All pipe and fittings are {series}. " if series else "")
        + "Pipe is what has to be bought beyond the offcuts and lengths at hand.",
        ("shop", "item", "size", "for", "quantity", "unit", f"price{currency}", f"cost{currency}"),
        rows,
        ("", "total", "", "", "", "", "", f"{listed.total:f}" if workshop.prices.lines else ""),
        tuple(notes),
    )


def options_table(options: tuple[Option, ...], plan: Plan, currency: str) -> Table:
    """Return the table: options, one column each."""
    system = plan.units
    flow = show(options[0].flow or 0.0, "flow", system)

    def each(text) -> tuple[str, ...]:
        return tuple("cannot be built" if o.problem else text(o) for o in options)

    rows = [
        ("what is changed", *(o.changed for o in options)),
        ("what it does", *each(lambda o: o.outcome)),
        (
            f"cost, {currency}" if currency else "cost",
            *each(lambda o: "" if o.cost is None else f"{o.cost:f}"),
        ),
        (
            "parts without a price",
            *each(lambda o: str(len(o.unpriced)) if o.cost or len(o.unpriced) > 3 else "; ".join(o.unpriced)),
        ),
        ("parts to buy", *each(lambda o: str(o.parts))),
        (
            f"head lost at {flow}, {_unit('length', system)}",
            *each(lambda o: _number(o.head, "length", system)),
        ),
        ("drain time, s", *each(lambda o: "" if o.drain_time is None else f"{o.drain_time:.0f}")),
        (
            f"water left in the beds, {_unit('volume', system)}",
            *each(lambda o: _number(o.residual, "volume", system)),
        ),
        (f"sump swing, {_unit('length', system)}", *each(lambda o: _number(o.swing, "length", system))),
    ]
    notes = [f"{o.name}: {o.problem}." for o in options if o.problem]
    notes += [
        f"{o.name}: no size of the pipe works." for o in options if o.name == EACH and o.drain_time is None
    ]
    notes.append(
        "Each column is the whole plan run again with that one change. The head is lost from the worst bed "
        f"to the end of its tail with {flow} out of all the beds together. Blank: the siphon does not cycle. "
        "A cost stands only where every part that differs has a price."
    )
    return Table(
        "options",
        "Options side by side",
        "",
        ("", *(o.name for o in options)),
        tuple(rows),
        notes=tuple(notes),
    )


def weight_table(weighed: tuple[BedWeight, ...], plan: Plan) -> Table:
    """Return the table: weights."""
    system = plan.units
    mass, load = _unit("mass", system), _unit("load", system)
    rows = tuple(
        (
            w.bed,
            *(_number(x, "mass", system) for x in (w.vessel, w.media, w.dry, w.wet, w.full)),
            str(w.supports),
            _number(w.per_support, "mass", system),
            _number(w.per_area, "load", system),
            _number(w.limit, "load", system) if w.limit else "",
        )
        for w in weighed
    )
    return Table(
        "weight",
        "Weight",
        "Full means with the outlet blocked and water at the rim: that is the weight to carry.",
        (
            "bed", f"empty, {mass}", f"media, {mass}", f"dry, {mass}", f"flooded, {mass}", f"full, {mass}",
            "supports", f"on each support, {mass}", f"over its area, {load}", f"floor takes, {load}",
        ),
        rows,
        notes=(CAUTION,),
    )  # fmt: skip


def readings_table(taken: tuple[Blank, ...], plan: Plan) -> Table:
    """Return the table: blank for the first day's readings, with what the plan says."""
    rows = tuple(
        (
            b.key,
            b.siphon,
            b.what,
            b.how,
            b.bed,
            _unit(b.kind, plan.units),
            _number(b.planned, b.kind, plan.units),
            "",
            "",
        )
        for b in taken
    )
    return Table(
        "readings",
        "Readings of the first day",
        "Write your value, and how far off it may be, in the last two columns, in the unit given.",
        ("key", "siphon", "reading", "how", "bed", "unit", "plan", "value", "error"),
        rows,
        notes=("The file readings.csv has the same lines: fill in its last two columns.",),
        blanks=2,
    )
