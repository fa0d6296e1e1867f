"""The part of the report that says how far to trust it: what is left out, how much that is, and when."""

from __future__ import annotations

import re

from aquacalc.report.records import TEXT, Cell, Column, Line, Section, Table

_INTRO = (
    "Levels follow from volumes and from flow laws that are known to a few per cent for pipes and 25 % for a "
    "lip. The flow that starts a siphon is known only as a band, and so is the one at which it stops. Round "
    "the times to the nearest half minute and the levels to [5 mm|1/4 in], try the siphon before you glue "
    "it, and put what you see into the plan."
)
#: What is left out: what it is, its size, and when it matters. Sizes are common
#: practice or our own estimates unless a source is named; [metric|US].
LEFT_OUT = (
    ("Water that the media holds back", "2 to 10 % of its volume",
     "at the first flood: the sump gives that much more, once (yield and porosity of gravels, USGS)"),
    ("Roots and slime in the media", "5 to 20 % of the pores in a season",
     "after some weeks: floods get smaller and more frequent; measure one again"),
    ("Water in drain lines and tail", "[0.5 to 1.3 L a metre|0.04 to 0.1 gal a foot]",
     "in a small sump: [a few millimetres|a tenth of an inch or two] of its level"),
    ("Evaporation and plants", "[1 to 4 mm|0.04 to 0.16 in] a day off beds and sump",
     "when nobody tops it up; the sump's part says for how many days it lasts"),
    ("Resistance of the media to a draining bed", "[5 to 60 mm|0.2 to 2.4 in] at the far end",
     "in fine media: the far end has its own table, levels and times elsewhere are those at the outlet"),
    ("Air that goes through a running siphon", "up to 14 % of its flow",
     "when it is near its stop, where the band counts it; earlier it drains a little more slowly"),
    ("Surface tension at lips and mouths", "[2 to 3 mm|0.1 in]",
     "below about [6 L/min|1.6 gpm], and in tubes under [15 mm|0.6 in]"),
    ("Waves, jets and eddies in beds and chamber", "[2 to 5 mm|0.1 to 0.2 in]",
     "for a freeboard of less than [10 mm|0.4 in]"),
    ("Floors out of level, walls that bulge", "[5 to 10 mm|0.2 to 0.4 in]",
     "for every limit that is a level; set the vessels by a spirit level, full of water"),
    ("Bores wider than by the least wall, bends close together", "2 to 5 % of a flow",
     "when a flow is near the end of its band"),
    ("Wear, dirt and voltage of the pump", "10 % of its flow and more",
     "after a season; measure it again with a jug"),
    ("Height above the sea", "[1.2 kPa|0.5 psi] less air pressure each [100 m|1000 ft]",
     "for suction at the crest, above [1000 m|3000 ft]"),
)  # fmt: skip


def trust_section(system: str) -> Section:
    """Build what is left out, one line for each, in metric or US units."""

    def said(text: str) -> str:
        return re.sub(r"\[(.*?)\|(.*?)\]", r"\2" if system == "us" else r"\1", text)

    lines = tuple(Line(what, (Cell(said(size)), Cell(said(when)))) for what, size, when in LEFT_OUT)
    columns = (Column("size", "Size", TEXT), Column("matters", "Matters", TEXT))
    table = Table("left_out", "What is left out", "Effect", columns, lines)
    return Section("trust", "How far to trust this", said(_INTRO), tables=(table,))
