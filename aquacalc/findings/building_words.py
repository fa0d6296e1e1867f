"""The words of the findings on building: one row for each, and what makes a finding of a row."""

from __future__ import annotations

from aquacalc.findings.record import Finding

#: How near to an edge, another hole or a rib is too near needs no words of its own.
_MOVE = "Move it, or use a smaller pipe or fitting."
#: Key -> (title, side of the limit that is good, kind of value, what to change).
WORDS: dict[str, tuple[str, str, str, str]] = {
    "piece_short": ("A piece is too short for its joints", "at least", "length",
                    "Set the two farther apart: another elevation, length or leg."),
    "straight_length": ("A straight pipe does not agree with its levels", "at most", "length",
                        "Add its bends, or measure its length again."),
    "line_steep": ("A line slopes more than its joints take", "at most", "length",
                   "Bring its ends nearer in height, or write its legs with the bends that lead it down."),
    "line_climbs": ("A drain line climbs along its flow", "at most", "length",
                    "Let every line fall along its flow: lower its end, or raise its start."),
    "line_crest": ("A crest in the line holds air", "at most", "length",
                   "Let every line fall along its flow: lower its end, or raise its start."),
    "line_misses": ("A pipe does not reach what it enters", "at most", "length",
                    "Move the vessel, or correct the length or a leg."),
    "hole_edge": ("A hole is too near an edge", "at least", "length", _MOVE),
    "hole_size": ("No list has the hole for this pipe", "", "number",
                  "Measure the one supplied before you drill."),
    "hole_saw": ("No hole saw is as wide as this hole", "at most", "length",
                 "Cut it with a jigsaw along a line, or use a smaller pipe or fitting."),
    "hole_rib": ("A hole meets a rib", "at least", "length",
                 "Give the outlet another place with outlet_along, between the ribs."),
    "holes_close": ("Holes are too near each other", "at least", "length",
                    "Let one enter from another side or at another height, or join the lines with a tee."),
    "seal_wall": ("The wall is too thin for its seal", "at least", "length",
                  "Put a plate behind the wall, or take a thicker vessel."),
    "seal_curve": ("The wall curves too much for its seal", "at most", "length", ""),
    "strainer_wall": ("The strainer does not fit beside the wall", "at least", "length",
                      "Move the outlet away from the wall, or make the strainer narrower."),
    "strainer_tall": ("The strainer sticks out of the bed", "at most", "length",
                      "Cut more openings in a ring, or use a wider tube."),
    "tail_wall": ("The tail meets the sump's wall", "at least", "elevation",
                  'Lead it over the rim and down with two bends, or give enters = "through the wall" and '
                  "drill for it."),
    "bell_room": ("No room around the bell", "at least", "length", "Use a narrower bell or a wider vessel."),
    "bell_lift": ("The bell cannot be lifted out", "at least", "length", "Move one of them aside."),
    "overlap": ("Two parts are in the same place", "at most", "length",
                "Move one of them, or lead the pipe round."),
    "sill": ("The outlet leaves little water", "at most", "length", ""),
}  # fmt: skip


def says(
    key: str,
    state: str,
    subject: str,
    cause: str,
    value: float | None = None,
    limit: float | None = None,
    band: tuple[float, float] | None = None,
    title: str = "",
    change: str = "",
) -> Finding:
    """Make the finding of a row, of `value` and `limit` (SI); `title` and `change` replace what it has."""
    usual_title, direction, kind, usual_change = WORDS[key]
    return Finding(
        key=key,
        title=title or usual_title,
        state=state,
        subject=subject,
        cause=cause,
        change="" if state == "good" else change or usual_change,
        value=value,
        limit=limit,
        direction=direction,
        band=band,
        kind=kind,
    )


def measured(given: bool) -> tuple[str, str]:
    """State of a fault, and what is added to its cause, by whether the plan gives the way."""
    if given:
        return "does not", ""
    return "watch", " The plan leaves this way open and it is derived: measure before you cut."
