"""Picture of a fit: how sure each thing was before the readings, and how sure it is now."""

from __future__ import annotations

from aquacalc.design.fit import Fit
from aquacalc.design.readings import FITTED
from aquacalc.figures import style as s
from aquacalc.figures.picture import Picture
from aquacalc.units import show

LEFT, RIGHT, TOP, ROW, BOTTOM = 250.0, 40.0, 34.0, 46.0, 46.0


def ranges(found: Fit, system: str) -> Picture:
    """Draw the range of each fitted thing before and after the readings, as a factor on the plan.

    Parameters
    ----------
    found : Fit
    system : {"metric", "us"}
        For the words.

    Returns
    -------
    Picture
    """
    tall = ROW * len(found.estimates)
    figure = s.new_figure(TOP + tall + BOTTOM)
    axes = s.place(figure, LEFT, TOP, s.WIDTH - LEFT - RIGHT, tall)
    axes.set_ylim(tall, 0.0)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    ends = [x / e.before for e in found.estimates for x in (e.low, e.high, e.before_low, e.before_high)]
    axes.set_xlim(min(0.9, *ends) * 0.97, max(1.1, *ends) * 1.03)
    axes.axvline(1.0, color=s.SOFT, lw=0.8, ls=(0, (4, 3)))
    s.write(axes, 1.0, -12.0, "as planned", s.SMALL, ha="center", clip_on=False)
    said = []
    for k, e in enumerate(found.estimates):
        y = ROW * (k + 0.5)
        before = [e.before_low / e.before, e.before_high / e.before]
        after = [e.low / e.before, e.high / e.before]
        axes.plot(before, [y - 9.0] * 2, color="#9a9a9a", lw=5.0, ls=(0, (1.2, 0.6)), solid_capstyle="butt")
        axes.plot(after, [y + 8.0] * 2, color=s.SERIES[0], lw=7.0, solid_capstyle="butt")
        axes.plot([e.factor], [y + 8.0], "o", ms=7.0, mfc=s.PAPER, mec=s.INK, mew=1.4)
        words = FITTED[e.name][0].removeprefix("the ")
        axes.annotate(
            words,
            (0.0, y),
            xytext=(-10.0, 0.0),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            va="center",
            ha="right",
            fontsize=s.TEXT,
            fontfamily=s.FAMILY,
            color=s.INK,
            annotation_clip=False,
        )
        low, high = (show(x, e.kind, system) for x in (e.low, e.high))
        was_low, was_high = (show(x, e.kind, system) for x in (e.before_low, e.before_high))
        said.append(f"{words} {was_low} to {was_high} before, {low} to {high} now")
        if k == 0:
            s.write(axes, before[1], y - 9.0, "  before the readings", s.SMALL, clip_on=False)
            box = {"fc": s.PAPER, "ec": "none", "pad": 1.0}
            s.write(axes, after[1], y + 8.0, "  now", s.SMALL, weight="bold", clip_on=False, bbox=box)
    s.scale_axis(axes, "x", "number", "metric", "times the plan's value")
    axes.set_xlabel("times the plan's value", fontsize=s.SMALL, fontfamily=s.FAMILY, color=s.INK)
    return Picture(figure, f"Ranges before and after the readings: {'; '.join(said)}.")
