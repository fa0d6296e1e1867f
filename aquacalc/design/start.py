"""A first plan from a handful of answers: beds as they are, a siphon sized for the pump's flow."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc import catalogue, units
from aquacalc.design.mends_draining import SLOT
from aquacalc.equations.formulas import GRAVITY, choking_flow, circle_area
from aquacalc.geometry.contacts import contacts
from aquacalc.geometry.space import space
from aquacalc.plan import PlanError, plan_from_text
from aquacalc.plan.schema import USUAL_SERIES

#: Froude number above which a bore very likely runs full, as the plan's schema has it.
SURE = 1.0
#: Wall that a line takes of the chamber's round beside its own width (m): its seal, and wall to the next.
HOLE_ROOM = 0.02
#: Most beds whose drain lines are laid out around one chamber.
MOST_AROUND = 12


@dataclass(frozen=True)
class Question:
    """A question to somebody who begins: name, what is asked, kind of its answer, usual answer, why."""

    name: str
    asks: str
    kind: str
    usual: dict[str, str]
    why: str


QUESTIONS = (
    Question("beds", "How many beds", "count", {"metric": "3", "us": "3"}, "all drain into one siphon"),
    Question("length", "Inside length of a bed", "length", {"metric": "1.2 m", "us": "4 ft"},
        "for its water"),
    Question("width", "Inside width of a bed", "length", {"metric": "500 mm", "us": "20 in"},
        "for its water"),
    Question("depth", "Inside depth of a bed", "length", {"metric": "300 mm", "us": "12 in"},
        "for the siphon's height"),
    Question(
        "floor", "Height of a bed's floor above the ground", "elevation", {"metric": "700 mm", "us": "28 in"},
        "the water has to fall into the sump",
    ),
    Question(
        "media", "Media: " + ", ".join(catalogue.media_names()), "media",
        {"metric": "expanded clay", "us": "expanded clay"}, "it leaves room for less than half of the water",
    ),
    Question(
        "flow", "Flow of the pump at the beds", "flow", {"metric": "18 L/min", "us": "5 gpm"},
        "it has to start the siphon, and not outrun it",
    ),
    Question(
        "sump", "Volume of the sump, brim full", "volume", {"metric": "450 L", "us": "120 gal"},
        "it gives the water of a flood and takes it back",
    ),
)  # fmt: skip
#: Answers that mean that somebody does not know.
UNKNOWN = ("", "?", "do not know", "don't know", "dont know", "no idea", "unknown")


def read_answer(question: Question, text: str):
    """Return an answer in SI units, or as a count or word; ValueError says what is wrong."""
    text = text.strip()
    if question.kind == "count":
        if not text.isascii() or not text.isdigit() or len(text) > 9 or not 1 <= int(text) <= 500:
            raise ValueError(f'"{text[:20]}" is not a number of beds; write a whole number from 1 to 500')
        return int(text)
    if question.kind == "media":
        return catalogue.media(text).name
    value = units.read(text, question.kind, question.name)
    if question.kind != "elevation" and value <= 0.0:
        raise ValueError(f'"{text}" is nothing; give a {question.kind} above 0')
    return value


def plan_text(answers: dict[str, str], system: str = "metric") -> str:
    """Return the text of a plan.

    Parameters
    ----------
    answers : dict of str to str
        By names of `QUESTIONS`, as typed; what is left out or not known is
        assumed, and marked so with its reason.
    system : {"metric", "us"}
        Units of the plan, and with them the usual pipe.

    Returns
    -------
    str
        A plan file in which each assumed value carries its mark and reason.

    Raises
    ------
    ValueError
        For an answer that cannot be read.
    """
    known, assumed = {}, set()
    for question in QUESTIONS:
        text = answers.get(question.name, "")
        if text.strip().casefold() in UNKNOWN:
            text = question.usual[system]
            assumed.add(question.name)
        known[question.name] = read_answer(question, text)
    return _Sketch(known, assumed, system).with_room()


class _Sketch:
    """Sizes that follow from the answers, and the text of the plan."""

    def __init__(self, known: dict, assumed: set[str], system: str):
        self.known, self.assumed, self.system = known, assumed, system
        self.sizes = catalogue.sizes(USUAL_SERIES[system])

    def value(self, value: float, kind: str = "length") -> str:
        """Write a size, to 1 mm or a sixteenth of an inch."""
        if self.system == "metric":
            unit = "L/min" if kind == "flow" else "mm"
            number = value * 6e4 if kind == "flow" else value * 1e3
            return f'"{number:.6g} {unit}"'
        unit, scale = ("gpm", 15850.323141489) if kind == "flow" else ("in", 1.0 / 0.0254)
        return f'"{round(value * scale * 16.0) / 16.0:.6g} {unit}"'

    def marked(self, text: str, why: str, mark: str = "assumed") -> str:
        return f'{{ value = {text}, mark = "{mark}", note = "{why}" }}'

    def said(self, name: str, text: str, why: str) -> str:
        """Write an answer plainly, or with its mark when nobody gave it."""
        return self.marked(text, why) if name in self.assumed else text

    def with_room(self) -> str:
        """Return the plan with the shortest drain lines that leave the beds room around the chamber."""
        step = 0.25 if self.system == "metric" else 0.3048
        shortest = 1.0 if self.system == "metric" else 0.9144
        texts = [
            self.text(shortest + k * step) for k in range(13 if self.known["beds"] <= MOST_AROUND else 1)
        ]
        for text in texts:
            try:
                if not contacts(space(plan_from_text(text))):
                    return text
            except PlanError:  # whoever asked reads the plan, and says what is wrong with it
                break
        return texts[0]

    def text(self, way: float) -> str:
        """Return the plan with drain lines `way` m long."""
        k = self.known
        stand = self.standpipe(k["flow"])
        at = self.sizes.index(stand)
        lip = self.sizes[min(at + 1, len(self.sizes) - 1)]
        drain = self.sizes[min(at + 2, len(self.sizes) - 1)]
        bell = self.bell(lip)
        drop = min(0.2, max(0.1, 0.3 * k["floor"]))
        chamber = k["floor"] - drop
        height = drop + k["depth"] - min(0.07, 0.25 * k["depth"])
        outlet = chamber - min(0.18, max(0.1, 0.4 * chamber))
        holes = k["beds"] * (drain.outside_diameter + HOLE_ROOM) / math.pi
        chamber_wide = max(0.25, bell.outside_diameter + 0.15, holes)
        deep = 0.7 if self.system == "metric" else 0.7112
        across = math.sqrt(4.0 * k["sump"] / (math.pi * deep))
        v, m, s = self.value, self.marked, self.said
        width, length = SLOT
        least = math.ceil(1.5 * circle_area(drain.bore) / (width * length))
        sized = "sized by the program for this flow"
        usual = "the usual answer, not yours yet"
        answered = len(QUESTIONS) - len(self.assumed)
        return f"""# Written from {answered} answers; every value that is assumed says so.
[plan]
name = "First plan"
datum = "ground"
units = "{self.system}"

[[bed]]
count = {k["beds"]}
length = {s("length", v(k["length"]), usual)}
width = {s("width", v(k["width"]), usual)}
depth = {s("depth", v(k["depth"]), usual)}
floor = {s("floor", v(k["floor"]), usual)}
media = {s("media", f'"{k["media"]}"', usual)}

[bed.strainer]
kind = {m('"slots"', "cut with a saw")}
count = {m(str(least), "half as much again as the pipe's bore")}
width = {m(v(width), "narrower than the grains")}
length = {m(v(length), "as a saw cuts it")}

[[run]]
from = "every bed"
size = {m(f'"{drain.size}"', "two sizes over the standpipe, so that the beds keep up")}
length = {m(v(way), "room for the beds around the chamber; measure where the pipe will run")}

[[chamber]]
diameter = {m(v(chamber_wide), "room for a hand around the bell, and for every hole")}
depth = {m(v(drop + k["depth"] + 0.02), "its rim a little above the beds: the water rises as high in it")}
floor = {m(v(chamber), "below the beds, so that they drain")}

[[siphon]]

[siphon.standpipe]
size = {m(f'"{stand.size}"', sized)}
height = {m(v(height), "leaves the top of the beds dry")}
lip_diameter = {m(v(lip.bore), "a reducer of one size on top helps it to start")}
entry = {m('"cone"', "a reducer")}
cone_length = {m(v(0.03), "height of a usual reducer")}

[siphon.bell]
size = {m(f'"{bell.size}"', "leaves room around the lip")}
top_height = {m(v(height + max(0.035, lip.bore)), "a lip's width of room over the lip")}

[siphon.tail]
size = {m(f'"{stand.size}"', "as the standpipe")}
length = {m(v(chamber - outlet + 0.35), "down and over into the sump; measure it")}
outlet = {m(v(outlet), "ends above the water in the sump")}

[sump]
diameter = {m(v(across), "a round sump that holds what you said; measure yours", "derived")}
depth = {m(v(deep), "a common height; measure yours")}
floor = {m(v(outlet - 0.02 - deep), "sunk so far that its rim is below the outlet pipe", "derived")}

[pump]
flow = {s("flow", v(k["flow"], "flow"), usual)}
"""

    def standpipe(self, flow: float):
        """Return the largest pipe that this flow very likely fills, or the smallest there is."""
        widest = max(i for i, lip in enumerate(self.sizes) if self.bell(lip)) - 1
        sure = [s for s in self.sizes[:widest] if choking_flow(SURE, s.bore, GRAVITY) <= 0.97 * flow]
        return sure[-1] if sure else self.sizes[0]

    def bell(self, lip):
        """Return the smallest pipe that leaves room around a lip for a bell, or None."""
        wall = lip.outside_diameter - lip.bore
        return next((s for s in self.sizes if s.bore > lip.bore + wall + 0.025), None)
