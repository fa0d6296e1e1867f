"""The experiment at the kitchen sink, drawn."""

from __future__ import annotations

from matplotlib.patches import Polygon, Rectangle

from aquacalc.figures import style as s
from aquacalc.figures.picture import Picture

HEIGHT = 420.0
#: Everything in px from the lower left.
BUCKET = (250.0, 150.0, 260.0, 190.0)  # left, floor, width, height
LEVEL = 268.0
PIPE = (372.0, 16.0, 258.0)  # left edge, width, lip
JAR = (330.0, 100.0, 166.0, 300.0)  # left, width, rim, top


def kitchen() -> Picture:
    """Draw the bucket, the standpipe under its jar, tap, jug and ruler, each with its name.

    Returns
    -------
    Picture
    """
    figure = s.new_figure(HEIGHT)
    axes = s.bare(figure, 0.0, 0.0, s.WIDTH, HEIGHT)
    axes.set_ylim(0.0, HEIGHT)
    left, floor, wide, tall = BUCKET
    axes.add_patch(Rectangle((left, floor), wide, LEVEL - floor, fc=s.WATER, ec="none"))
    _lines(
        axes, [(left, floor + tall), (left, floor), (left + wide, floor), (left + wide, floor + tall)], 3.0
    )
    pipe, across, lip = PIPE
    wider = 9.0
    _lines(axes, [(pipe - wider, lip), (pipe, lip - 16.0), (pipe, 60.0)], 2.5)
    _lines(axes, [(pipe + across + wider, lip), (pipe + across, lip - 16.0), (pipe + across, 60.0)], 2.5)
    jar, broad, rim, top = JAR
    _lines(axes, [(jar, rim), (jar, top - 12.0), (jar + 12.0, top), (jar + broad - 12.0, top),
                  (jar + broad, top - 12.0), (jar + broad, rim)], 2.0, s.WATER_LINE)  # fmt: skip
    for x in (jar - 6.0, jar + broad - 12.0):
        axes.add_patch(Rectangle((x, floor), 18.0, rim - floor, fc=s.PIPE, ec=s.INK, lw=0.6))
    axes.plot([left, left + wide], [LEVEL, LEVEL], color=s.WATER_LINE, lw=1.6)
    _lines(axes, [(200.0, 392.0), (286.0, 392.0), (286.0, 372.0)], 6.0)
    axes.plot([286.0, 286.0], [368.0, LEVEL + 2.0], color=s.WATER_LINE, lw=2.0)
    axes.add_patch(Polygon([(340.0, 50.0), (330.0, 6.0), (420.0, 6.0), (410.0, 50.0)], fc=s.WATER, ec=s.INK))
    axes.plot([500.0, 500.0], [lip, LEVEL], color=s.MARK, lw=3.0)
    axes.plot([pipe + across + wider, 516.0], [lip, lip], color=s.INK, lw=0.9, ls=(0, (5, 3)))
    for x, y, tip, text in (
        (40.0, 392.0, (198.0, 392.0), "tap, opened a little"),
        (560.0, 330.0, (left + wide, 310.0), "bucket or deep bowl"),
        (560.0, 296.0, (jar + broad, 290.0), "large jar: the bell that keeps the air away"),
        (560.0, 263.0, (503.0, 263.0), "measure here: water over the lip"),
        (560.0, 216.0, (pipe + across, 228.0), "short upright pipe, 15 to 25 mm (5/8 to 1 in) inside,"),
        (560.0, 168.0, (jar + broad, 158.0), "three bottle caps: water gets in under the jar"),
        (560.0, 96.0, (pipe + across, 96.0), "leads down 30 cm (1 ft) or more"),
        (560.0, 30.0, (415.0, 30.0), "jug with marks: 15 seconds, times four, is a minute"),
        (40.0, 256.0, (pipe - wider, lip), "the wide end:"),
    ):
        s.write(axes, x, y, text, s.TEXT)
        near = (x - 6.0, y) if x > 300.0 else (x + s.text_width(text, s.TEXT) + 6.0, y)
        axes.plot([near[0], tip[0]], [near[1], tip[1]], color=s.INK, lw=0.8)
    for x, y, text in (
        (560.0, 200.0, "sealed in a hole in the bottom"), (40.0, 376.0, "more each time"),
        (40.0, 240.0, "a funnel cut short, or"), (40.0, 224.0, "the neck of a bottle"),
    ):  # fmt: skip
        s.write(axes, x, y, text, s.TEXT)
    alt = (
        "A bucket under a thinly running tap. A short upright pipe stands in it, sealed in a hole in the "
        "bottom, and leads down 30 cm or more to a jug with marks. A wide end sits on its top. A large jar "
        "stands over it on three bottle caps, so that water gets in below. The height of the water over the "
        "lip is measured beside it."
    )
    return Picture(figure, alt)


def _lines(axes, points: list[tuple[float, float]], wide: float, colour: str = s.INK) -> None:
    axes.plot(*zip(*points, strict=True), color=colour, lw=wide, solid_joinstyle="round")
