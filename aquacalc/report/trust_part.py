"""The part of the report that says how far to trust it: what is left out, how much that is, and when."""

from __future__ import annotations

from aquacalc.report.records import TEXT, Cell, Column, Line, Section, Table

_INTRO = (
    "Levels follow from volumes and from flow laws that are known to a few per cent for pipes and 25 % for a "
    "lip. The flow that starts a siphon is known only as a band, and so is the one at which it stops. Round "
    "the times to the nearest half minute and the levels to 5 mm, try the siphon before you glue it, and put "
    "what you see into the plan."
)
#: What is left out: what it is, its size, and when it matters. Sizes are common
#: practice or our own estimates unless a source is named.
LEFT_OUT = (
    ("Water that the media holds back", "2 to 10 % of its volume",
     "at the first flood: the sump gives that much more, once (yield and porosity of gravels, USGS)"),
    ("Roots and slime in the media", "5 to 20 % of the pores in a season",
     "after some weeks: floods get smaller and more frequent; measure one again"),
    ("Water in drain lines and tail", "0.5 to 1.3 L a metre",
     "in a small sump: a few millimetres of its level"),
    ("Evaporation and plants", "1 to 4 mm a day off beds and sump",
     "when nobody tops it up; the sump's part says for how many days it lasts"),
    ("Resistance of the media to a draining bed", "5 to 60 mm at the far end",
     "in fine media: the far end has its own table, levels and times elsewhere are those at the outlet"),
    ("Air that goes through a running siphon", "up to 14 % of its flow",
     "when it is near its stop, where the band counts it; earlier it drains a little more slowly"),
    ("Surface tension at lips and mouths", "2 to 3 mm",
     "below about 6 L/min, and in tubes under 15 mm"),
    ("Waves, jets and eddies in beds and chamber", "2 to 5 mm",
     "for a freeboard of less than 10 mm"),
    ("Floors out of level, walls that bulge", "5 to 10 mm",
     "for every limit that is a level; set the vessels by a spirit level, full of water"),
    ("Bores wider than by the least wall, bends close together", "2 to 5 % of a flow",
     "when a flow is near the end of its band"),
    ("Wear, dirt and voltage of the pump", "10 % of its flow and more",
     "after a season; measure it again with a jug"),
    ("Height above the sea", "1.2 kPa less air pressure each 100 m",
     "for suction at the crest, above 1000 m"),
)  # fmt: skip


def trust_section() -> Section:
    """Build what is left out, one line for each."""
    lines = tuple(Line(what, (Cell(size), Cell(when))) for what, size, when in LEFT_OUT)
    columns = (Column("size", "Size", TEXT), Column("matters", "Matters", TEXT))
    table = Table("left_out", "What is left out", "Effect", columns, lines)
    return Section("trust", "How far to trust this", _INTRO, tables=(table,))
