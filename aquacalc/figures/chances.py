"""How sure a plan is: how often each finding comes up when its values vary, and what each depends on."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.patches import Rectangle

from aquacalc.design.chances import VARIED, Chance, Share, Study
from aquacalc.figures import style as s
from aquacalc.figures.picture import Picture
from aquacalc.findings import STATES

#: Rows at most; rarer findings are named below them.
MOST = 10
#: Width of the names, of the axis of chances, of one thing varied, and of 100 in 100 in its column, px.
NAMES, CHANCES = 220.0, 204.0
FIRST, PITCH, FULL = 458.0, 72.0, 46.0
TOP, HEAD, ROW, BAR = 74.0, 24.0, 48.0, 11.0
LINES = 3
AXIS = 50.0
#: Heading of each group of rows, and how its bars are drawn.
GROUPS = {
    "works": ("", "#9ccbe8", ""),
    "does not": ("What stops it from working", "#d98a5b", "xxxx"),
    "may or may not": ("What may or may not work", "#f0c14b", "\\\\\\"),
    "watch": ("What to watch", "#f7e3b5", "////"),
}
#: Words for what varies that fit over a column.
SHORT = {
    "inflow": "pump's\nflow",
    "porosity": "porosity\nof media",
    "bore": "bores of\npipes",
    "loss": "losses of\nfittings",
    "lip": "flow over\nthe lip",
    "start": "starting\nflow",
}


@dataclass(frozen=True)
class Row:
    """One row: what is found, in which `part` of the plans (of 1), its range, what it depends on."""

    title: str
    subjects: tuple[str, ...]
    state: str
    part: float
    range: tuple[float, float]
    shares: tuple[Share, ...]

    @property
    def name(self) -> str:
        """Title and where."""
        return f"{self.title}: {', '.join(self.subjects)}" if self.subjects else self.title


def rows(study: Study) -> list[Row]:
    """Return a row for the plan and one for each finding that comes up, the worst and likeliest first.

    Parameters
    ----------
    study : aquacalc.design.chances.Study

    Returns
    -------
    list of Row
        Equal findings of several beds share a row.
    """
    found = [Row("The plan works", (), "works", study.works, study.plausible, ())]
    for state in STATES[:-1]:
        alike: dict[tuple, list[Chance]] = {}
        for chance in study.chances:
            if (part := chance.parts[state]) > 0.0:
                alike.setdefault((chance.titles[state], part, chance.matters_most), []).append(chance)
        made = [
            Row(title, tuple(c.subject for c in each), state, part, each[0].ranges[state], each[0].shares)
            for (title, part, _), each in alike.items()
        ]
        found += sorted(made, key=lambda row: -row.part)
    return found


def always_good(study: Study) -> list[str]:
    """Return the titles of findings that are good in every plan of a study, each once."""
    good = [c.titles["good"] for c in study.chances if c.parts["good"] == 1.0]
    return list(dict.fromkeys(good))


def hundredths(shares: Sequence[Share]) -> list[int]:
    """Round shares to whole parts of 100 that add up to what all of them are, by the largest remainders."""
    exact = [100.0 * _kept(share.index) for share in shares]
    whole = [int(x) for x in exact]
    most = sorted(range(len(exact)), key=lambda k: whole[k] - exact[k])
    for k in most[: round(sum(exact)) - sum(whole)]:
        whole[k] += 1
    return whole


def in_hundred(part: float) -> str:
    """Write a `part` of 1 as a count in 100, without rounding it to never or to always."""
    if 0.0 < part < 0.005:
        return "fewer than 1 in 100"
    if 0.995 <= part < 1.0:
        return "more than 99 in 100"
    return f"{100.0 * part:.0f} in 100"


def _told(part: float, likely: tuple[float, float], plans: int) -> str:
    """Write a part with its range: "4 in 100 (2 to 8)"."""
    low, high = (f"{100.0 * x:.0f}" for x in likely)
    if part == 0.0:
        return f"in none of {plans} (at most {high} in 100)"
    if part == 1.0:
        return f"in all {plans} (at least {low} in 100)"
    return f"{in_hundred(part)} ({low} to {high})"


def chances(study: Study) -> Picture:
    """Draw how often each finding comes up, and how much each thing varied has to do with it.

    Parameters
    ----------
    study : aquacalc.design.chances.Study

    Returns
    -------
    Picture
        A bar for each chance on an axis from 0 to 100, with a line over the
        range it has with 95 % confidence; beside it the part of each
        thing varied, which add up to 100, with its 95 % interval.

    Raises
    ------
    ValueError
        For a study that was stopped before it had anything to count.
    """
    if not len(study.table):
        raise ValueError("the study was stopped before it had anything to count; let it run longer")
    every = rows(study)
    shown, rest = every[: MOST + 1], every[MOST + 1 :]
    groups = sum(bool(GROUPS[state][0]) for state in {row.state for row in shown})
    tall = HEAD * groups + ROW * len(shown)
    figure = s.new_figure(TOP + tall + AXIS)
    left = s.place(figure, NAMES, TOP, CHANCES, tall)
    right = s.place(figure, FIRST, TOP, PITCH * len(VARIED), tall)
    for axes, end in ((left, 100.0), (right, PITCH * len(VARIED))):
        axes.set_xlim(0.0, end)
        axes.set_ylim(tall, 0.0)
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
    _scales(left, right, tall)
    _heads(left, right, study)
    y, state = 0.0, ""
    for row in shown:
        heading = GROUPS[row.state][0]
        if row.state != state and heading:
            s.write(left, -NAMES * 100.0 / CHANCES + 6.0, y + 0.5 * HEAD, heading, s.TEXT, weight="bold")
            y += HEAD
        state = row.state
        _chance(left, row, y, len(study.table))
        if row.state != "works":
            _shares(right, row, y)
        y += ROW
    return Picture(figure, _alt(study, every), _below(study, rest))


def _scales(left, right, tall: float) -> None:
    ticks = (0, 25, 50, 75, 100)
    left.set_xticks(ticks, [str(t) for t in ticks])
    said = {"fontsize": s.SMALL, "fontfamily": s.FAMILY, "color": s.INK}
    left.set_xlabel("plans in which it comes up (in 100)", **said)
    at = [PITCH * k + FULL * end for k in range(len(VARIED)) for end in (0.0, 1.0)]
    right.set_xticks(at, ["0", "100"] * len(VARIED))
    right.set_xlabel("part that each has in its ups and downs (in 100)", **said)
    for x in ticks:
        left.axvline(x, color=s.RULE, lw=0.8, zorder=0.5)
    for place in at:
        right.plot([place, place], [0.0, tall], color=s.RULE, lw=0.8, zorder=0.5)


def _heads(left, right, study: Study) -> None:
    titles = ((left, "How often does it come up?"), (right, "What does it depend on most?"))
    for axes, text in titles:
        s.write(axes, 0.0, -62.0, text, s.TEXT, weight="bold", clip_on=False)
    for k, name in enumerate(VARIED):
        spread = 100.0 * study.spreads[name]
        text = f"{SHORT[name]}\n± {spread:.{1 if spread < 10.0 else 0}f} %"
        s.write(right, PITCH * k, -12.0, text, va="baseline", clip_on=False, linespacing=1.1)


def _chance(axes, row: Row, y: float, plans: int) -> None:
    """Draw the name, the bar and the range of one row that begins at `y`."""
    _, colour, hatch = GROUPS[row.state]
    width = int((NAMES - 24.0) / (s.CHARACTER * s.SMALL / s.POINT))
    names = (subject.replace(" ", "\N{NO-BREAK SPACE}") for subject in row.subjects)
    name = f"{row.title}: {', '.join(names)}" if row.subjects else row.title
    lines = textwrap.wrap(name, width, max_lines=LINES, placeholder=" …")
    weight = "bold" if row.state == "works" else "normal"
    s.write(
        axes, -12.0 * 100.0 / CHANCES, y + 0.5 * ROW, "\n".join(lines), ha="right", weight=weight,
        clip_on=False, linespacing=1.1,
    )  # fmt: skip
    middle = y + 33.0
    bar = Rectangle(
        (0.0, middle - 0.5 * BAR), 100.0 * row.part, BAR, fc=colour, ec=s.INK, lw=0.7, hatch=hatch
    )
    axes.add_patch(bar)
    _whisker(axes, 100.0 * row.range[0], 100.0 * row.range[1], middle)
    s.write(axes, 1.0, y + 16.0, _told(row.part, row.range, plans), weight="bold", clip_on=False)


def _shares(axes, row: Row, y: float) -> None:
    """Draw what a finding depends on: one bar for each thing varied, the largest marked."""
    if not row.shares:
        told = "these plans cannot tell" if row.part < 1.0 else "nothing that was varied changes it"
        s.write(axes, 0.0, y + 0.5 * ROW, told, color=s.SOFT)
        return
    for share, said in zip(row.shares, hundredths(row.shares), strict=True):
        x = PITCH * list(VARIED).index(share.name)
        index, most = _kept(share.index), share is row.shares[0]
        low, high = _kept(share.index - share.error), _kept(share.index + share.error)
        middle = y + 33.0
        bar = Rectangle(
            (x, middle - 0.5 * BAR),
            FULL * index,
            BAR,
            fc=s.SERIES[0] if most else "#c9d6e0",
            ec=s.INK,
            lw=0.7,
        )
        axes.add_patch(bar)
        _whisker(axes, x + FULL * low, x + FULL * high, middle)
        if said:
            s.write(
                axes, x + 1.0, y + 16.0, f"{said}",
                weight="bold" if most else "normal", color=s.INK if most else s.SOFT,
            )  # fmt: skip


def _kept(index: float) -> float:
    """Keep an index within 0 and 1, which its estimate may leave by chance."""
    return min(max(index, 0.0), 1.0)


def _whisker(axes, low: float, high: float, y: float) -> None:
    axes.plot([low, high], [y, y], color=s.PAPER, lw=3.2, zorder=3, clip_on=False, solid_capstyle="butt")
    axes.plot([low, high], [y, y], color=s.INK, lw=1.2, marker="|", ms=6.0, mew=1.2, zorder=4, clip_on=False)


def _below(study: Study, rest: Sequence[Row]) -> str:
    """Return what is read below the picture."""
    told = []
    if rest:
        names = "; ".join(dict.fromkeys(row.title for row in rest))
        told.append(f"And {len(rest)} more: {names}.")
    good = always_good(study)
    if good:
        told.append(f"Good in all {len(study.table)} plans: {'; '.join(good)}.")
    stopped = "" if study.complete else " The study was stopped early."
    told.append(
        f"From {len(study.table)} plans.{stopped} A line over a bar is the range in which the true number "
        "lies with 95 % confidence"
        + (
            "; over the first it also takes in that no table of where siphons start was found"
            if study.priors
            else ""
        )
        + ". ± is how much each was varied: two times in three it is that close."
    )
    return " ".join(told)


def _alt(study: Study, every: Sequence[Row]) -> str:
    plans = len(study.table)
    said = [f"How sure the plan is, from {plans} plans with everything uncertain varied."]
    for row in every:
        line = f"{row.name}: {_told(row.part, row.range, plans)}"
        if row.state == "watch":
            line += ", to watch"
        if row.shares:
            first = row.shares[0]
            low, high = (100.0 * _kept(first.index + k * first.error) for k in (-1.0, 1.0))
            line += (
                f"; it depends most on {first.words}, {hundredths(row.shares)[0]} in 100 of its ups and "
                f"downs ({low:.0f} to {high:.0f})"
            )
        said.append(f"{line}.")
    good = always_good(study)
    if good:
        said.append(f"Good in all {plans} plans: {'; '.join(good)}.")
    if not study.complete:
        said.append("The study was stopped early.")
    return " ".join(said)
