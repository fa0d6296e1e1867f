"""Hypothesis strategies: plans of any layout whose numbers use a float's last digits."""

from hypothesis import strategies as st

from aquacalc import catalogue
from aquacalc.equations.losses import two_45_smooth
from aquacalc.geometry.strainers import FIXINGS
from aquacalc.plan import model
from aquacalc.plan.shapes import make

PLAIN = [f for f in catalogue.fittings() if f.role == "fitting"]
ENTRANCES = [f for f in catalogue.fittings() if f.role == "entrance"]
EXIT = model.Fitting("exit", 1, 1.0)


def between(low, high):
    return st.floats(low, high, allow_nan=False, allow_infinity=False, width=64)


@st.composite
def pipes(draw, series=None, smallest=0.0, largest=1.0):
    sizes = [p for s in catalogue.series() for p in catalogue.sizes(s) if smallest < p.bore < largest]
    found = draw(st.sampled_from(sizes))
    if draw(st.booleans()):
        return model.Pipe(found.series, found.size, found.bore, found.outside_diameter, found.roughness)
    bore = draw(between(0.97, 1.0)) * found.bore
    own = draw(st.booleans())
    return model.Pipe(
        catalogue.OWN if own else found.series,
        "by hand" if own else found.size,
        bore,
        found.outside_diameter,
        draw(between(0.0, 1e-4)),
    )


@st.composite
def middle_fittings(draw, bore):
    found = []
    for kind in draw(st.lists(st.sampled_from(["plain", "given", "spaced"]), max_size=3)):
        count = draw(st.integers(1, 3))
        if kind == "plain":
            f = draw(st.sampled_from(PLAIN))
            found.append(model.Fitting(f.name, count, f.k))
        elif kind == "given":
            found.append(model.Fitting("by hand", count, draw(between(0.0, 5.0)), given=True))
        else:
            spacing = bore * draw(between(0.8, 6.0))
            found.append(model.Fitting("two 45s", count, two_45_smooth(spacing, bore), spacing))
    return tuple(found)


@st.composite
def bed_shapes(draw, depth):
    kind = draw(st.sampled_from(["rectangular", "tapered", "round", "oval", "half drum", "table"]))
    a, b, c, d = (draw(between(0.45, 2.0)) for _ in range(4))
    if kind == "rectangular":
        return make(kind, depth=depth, length=a, width=b)
    if kind in ("tapered", "oval"):
        return make(kind, depth=depth, length=a, width=b, top_length=c, top_width=d)
    if kind == "round":
        return make(kind, depth=depth, diameter=a)
    if kind == "half drum":
        diameter = draw(st.sampled_from([2.0 * depth, depth + 0.3]))
        return make(kind, depth=depth, length=a, diameter=diameter)
    return make(kind, depth=depth, depths=(0.0, 0.5 * depth, depth), areas=(a, a + b, c))


@st.composite
def beds(draw, name, floor):
    depth = draw(between(0.28, 0.4))
    media = draw(st.sampled_from(catalogue.media_names()))
    known = catalogue.media(media)
    slots = draw(st.booleans())
    strainer = model.Strainer(
        "slots" if slots else "holes",
        draw(st.integers(1, 200)),
        draw(between(0.002, 0.01)),
        draw(between(0.01, 0.05)) if slots else 0.0,
        draw(st.sampled_from([0.6, 0.45])),
        draw(st.sampled_from(list(FIXINGS))),
    )
    side = draw(st.booleans())
    return model.Bed(
        name,
        floor,
        draw(bed_shapes(depth)),
        model.Media(
            media,
            depth * draw(between(0.5, 1.0)),
            draw(st.sampled_from([known.porosity, 0.42])),
            draw(st.sampled_from([known.bulk_density, 900.1])),
            draw(st.sampled_from([known.grain_low, 0.0061])),
            draw(st.sampled_from([known.grain_high, 0.0171])),
        ),
        "side" if side else "floor",
        draw(between(0.0, 0.05)) if side else 0.0,
        draw(st.none() | st.just(strainer)),
        draw(st.sampled_from(["rubber pipe seal", "tank fitting"])),
        draw(between(0.1, 3.0)),
        draw(between(0.0, 30.0)),
        draw(st.integers(2, 8)),
    )


@st.composite
def runs(draw, start, to, fall, outfall, leaves, enters):
    pipe = draw(pipes(smallest=0.02, largest=0.055))
    entrance = draw(st.sampled_from(ENTRANCES))
    fittings = (
        *((model.Fitting(entrance.name, 1, entrance.k),) if leaves else ()),
        *draw(middle_fittings(pipe.bore)),
        *((EXIT,) if enters else ()),
    )
    length = fall + 0.5 * pipe.bore + draw(between(0.01, 3.0))
    return model.Run(start, to, pipe, length, fittings, outfall)


@st.composite
def groups(draw, letter):
    """One siphon with its beds: in series, on tees or each on its own run; in a chamber or a bed."""
    count = draw(st.integers(1, 3))
    layout = draw(st.sampled_from(["series", "tees", "star"]))
    inside = draw(st.booleans())
    floors = sorted((draw(between(0.70, 0.72)) for _ in range(count)), reverse=True)
    found = [draw(beds(f"bed {letter}{i}", floor)) for i, floor in enumerate(floors)]
    chambers, tees, lines = (), [], []
    if inside:
        host = found[-1]
        feeders = found[:-1]
        into = host.floor + 0.01
        floor = host.floor
    else:
        floor = draw(between(0.4, 0.5))
        shape = draw(st.sampled_from([make("round", depth=0.6, diameter=0.3),
                                      make("rectangular", depth=0.6, length=0.3, width=0.31)]))  # fmt: skip
        host = model.Chamber(f"chamber {letter}", floor, shape)
        chambers = (host,)
        feeders = found
        into = floor + draw(between(0.0, 0.1))
    for i, bed in enumerate(feeders):
        last = i == len(feeders) - 1
        if layout == "series" and not last:
            to, outfall = feeders[i + 1].name, feeders[i + 1].floor + 0.02
        elif layout == "tees":
            tees.append(model.Tee(f"tee {letter}{i}", 0.65 - 0.01 * i))
            to, outfall = tees[-1].name, tees[-1].elevation
        else:
            to, outfall = host.name, into
        fall = abs(bed.outlet_invert - outfall)
        lines.append(draw(runs(bed.name, to, fall, outfall, True, layout != "tees")))
    for i, tee in enumerate(tees):
        last = i == len(tees) - 1
        to, outfall = (host.name, into) if last else (tees[i + 1].name, tees[i + 1].elevation)
        lines.append(draw(runs(tee.name, to, abs(tee.elevation - outfall), outfall, False, last)))
    height = draw(between(0.20, 0.24)) + floors[-1] - floor
    pipe = draw(pipes(smallest=0.015, largest=0.03))
    reduced = draw(st.booleans())
    bell = draw(pipes(smallest=0.07, largest=0.08))
    by_hand = bell.series == catalogue.OWN
    tail = draw(pipes(smallest=0.015, largest=0.03))
    outlet = floor - draw(between(0.05, 0.15))
    siphon = model.Siphon(
        f"siphon {letter}",
        host.name,
        model.Standpipe(
            pipe,
            height,
            pipe.bore + 0.01 if reduced else pipe.bore,
            "cone" if reduced else draw(st.sampled_from(["square", "rounded"])),
            0.02 if reduced else 0.0,
        ),
        model.Bell(
            bell.bore, bell.outside_diameter, height + 0.03, 0.03, 4, 0.03, draw(between(0.01, 0.03)),
            "" if by_hand else bell.series, "" if by_hand else bell.size,
        ),
        model.Tail(tail, 0.2 + draw(between(0.0, 1.0)), (*draw(middle_fittings(tail.bore)), EXIT), outlet),
        draw(st.sampled_from([model.Priming(), model.Priming(0.6, 0.35, 0.9, 1.7e-4, 1e-5)])),
        draw(between(0.12, 0.2)) if inside else 0.0,
        draw(st.sampled_from([1.71, 1.34])),
        draw(st.sampled_from([0.60, 0.606])),
    )  # fmt: skip
    return tuple(found), tuple(lines), tuple(tees), chambers, siphon


@st.composite
def plans(draw):
    """A plan that `check_plan` accepts, made in code: its `text` is empty."""
    made = [draw(groups(letter)) for letter in "AB"[: draw(st.integers(1, 2))]]
    depth = draw(between(0.6, 1.0))
    sump = model.Sump(
        "sump",
        draw(between(-0.5, -0.1)),
        make("round", depth=depth, diameter=draw(between(0.5, 1.5))),
        depth * draw(between(0.5, 1.0)),
        draw(st.sampled_from(["beds drained", "beds flooded"])),
        draw(st.sampled_from([0.0, 0.05])),
    )
    intake = draw(between(0.05, 0.2))
    pipe = draw(pipes(smallest=0.015, largest=0.03))
    outlet = draw(between(1.0, 1.2))
    delivery = model.Delivery(pipe, 3.0, (*draw(middle_fittings(pipe.bore)), EXIT), outlet)
    if draw(st.booleans()):
        points = ((0.0, 2.5), (draw(between(1e-4, 2e-4)), draw(between(1.0, 2.0))), (5e-4, 0.0))
        pump = model.Pump(None, points, delivery, intake, draw(between(0.0, 90.0)))
    else:
        pump = model.Pump(draw(between(1e-5, 5e-4)), (), draw(st.none() | st.just(delivery)), intake)
    beds_, lines, tees, chambers, siphons = zip(*made, strict=True)
    return model.Plan(
        name=draw(
            st.text(
                st.characters(codec="utf-8", exclude_categories=["C"], exclude_characters="$"), max_size=20
            ).filter(str.strip)
        ),
        note=draw(st.sampled_from(["", 'Two lines\nand "quotes" \\ \u20ac'])),
        datum="floor",
        units=draw(st.sampled_from(["metric", "us"])),
        water_temperature=draw(between(4.0, 35.0)),
        beds=sum(beds_, ()),
        runs=sum(lines, ()),
        tees=sum(tees, ()),
        chambers=sum(chambers, ()),
        siphons=siphons,
        sump=sump,
        pump=pump,
        limits=draw(st.sampled_from([model.Limits(), model.Limits(0.03, 2.0, 5.0, 0.01, 0.123, 1.6, 333.3)])),
    )
