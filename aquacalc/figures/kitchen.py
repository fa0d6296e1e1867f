"""The experiment at the kitchen sink, drawn."""

from __future__ import annotations

from aquacalc.figures.chart import WIDTH, box
from aquacalc.figures.vector import Drawing, Drawn, text_width

HEIGHT = 430.0
#: Bucket (left, top, right, floor), water, lip, jar (left, right, top, rim), pipe (left, right, foot), px.
BUCKET, LEVEL, LIP = (180.0, 90.0, 430.0, 280.0), 162.0, 173.0
JAR, PIPE = (255.0, 355.0, 130.0, 264.0), (297.0, 313.0, 372.0)
WIDER, CONE = 9.0, 16.0
#: Labels: where they begin, px, what they say, and what they point at.
LABELS = (
    (4.0, 38.0, ("tap, opened", "bit by bit"), (124.0, 38.0)),
    (4.0, 176.0, ("the wide end:", "a funnel cut short,", "or a bottle's neck"), (287.0, 174.0)),
    (460.0, 100.0, ("bucket or deep bowl",), (432.0, 118.0)),
    (460.0, 132.0, ("large jar: the bell that keeps the air away",), (357.0, 142.0)),
    (460.0, 164.0, ("measure here: water over the lip",), (424.0, 168.0)),
    (460.0, 200.0, ("upright pipe, 15 to 25 mm (5/8 to 1 in)", "inside, sealed below"), (314.0, 216.0)),
    (460.0, 252.0, ("three bottle caps: water gets in under the jar",), (363.0, 272.0)),
    (460.0, 332.0, ("leads down 30 cm (1 ft) or more",), (314.0, 340.0)),
    (460.0, 400.0, ("jug with marks: 15 seconds,", "times four, is a minute"), (352.0, 404.0)),
)  # fmt: skip


def kitchen() -> Drawn:
    """Draw the bucket, the standpipe under its jar, tap, jug and ruler, each with its name.

    Returns
    -------
    Drawn
    """
    d = Drawing(WIDTH, HEIGHT)
    left, top, right, floor = BUCKET
    d.path(box(left, LEVEL, right - left, floor - LEVEL), "water", close=True)
    d.path([(left, top), (left, floor), (right, floor), (right, top)], "wall")
    inside, outside, foot = PIPE
    d.path([(inside - WIDER, LIP), (inside, LIP + CONE), (inside, foot)], "wall")
    d.path([(outside + WIDER, LIP), (outside, LIP + CONE), (outside, foot)], "wall")
    one, other, crown, rim = JAR
    dome = [(one, crown + 12.0), (one + 12.0, crown), (other - 12.0, crown), (other, crown + 12.0)]
    d.path([(one, rim), *dome, (other, rim)], "curve blue")
    for x in (one - 6.0, other - 12.0):
        d.path(box(x, rim, 18.0, floor - rim), "part", close=True)
    d.path([(left, LEVEL), (right, LEVEL)], "surface")
    d.path([(126.0, 38.0), (216.0, 38.0), (216.0, 56.0)], "wall", stroke_width=6.0)
    d.path([(216.0, 60.0), (216.0, LEVEL)], "surface")
    d.path([(270.0, 380.0), (260.0, 424.0), (350.0, 424.0), (340.0, 380.0)], "water", close=True)
    d.path([(270.0, 380.0), (260.0, 424.0), (350.0, 424.0), (340.0, 380.0)], "wall")
    d.path([(outside + WIDER, LIP), (424.0, LIP)], "level")
    d.path([(420.0, LIP), (420.0, LEVEL)], "today")
    for x, y, lines, tip in LABELS:
        for k, line in enumerate(lines):
            d.text(x, y + 17.0 * k, line)
        near = x - 5.0 if x > tip[0] else x + max(map(text_width, lines)) * 0.8 + 4.0
        d.path([(near, y), tip], "lead")
    d.alt = (
        "A bucket under a thinly running tap. A short upright pipe stands in it, sealed in a hole in the "
        "bottom, and leads down 30 cm or more to a jug with marks. A wide end sits on its top. A large jar "
        "stands over it on three bottle caps, so that water gets in below. The height of the water over the "
        "lip is measured beside it."
    )
    return Drawn((d,), d.alt)
