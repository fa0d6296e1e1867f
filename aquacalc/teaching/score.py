"""The group's hands before and after a workshop, kept on the teacher's computer and nowhere else."""

from __future__ import annotations

import json
from html import escape
from pathlib import Path
from string import ascii_uppercase

import ipywidgets as w

from aquacalc.failure import Failure
from aquacalc.files import write_file
from aquacalc.notebook.table import Grid, grid
from aquacalc.teaching.exercise import beliefs

#: Beside the teacher's page.
MINE = Path("group-score.json")
MOMENTS = ("before", "after")


class ScoreForm(w.VBox):
    """Boxes for how many were right, question by question, before and after; what was gained."""

    def __init__(self):
        kept = _kept()
        self.people = w.BoundedIntText(value=kept.get("people", 0), min=0, max=200, description="People")
        self.boxes: dict[str, tuple[w.BoundedIntText, ...]] = {}
        lines = []
        for letter, (key, asked) in zip(ascii_uppercase, beliefs().items(), strict=False):
            counts = kept.get(key, [0, 0])
            name = w.Label(f"{letter}. {asked.title} (right: {asked.right})", layout={"width": "24em"})
            self.boxes[key] = tuple(
                w.BoundedIntText(value=count, min=0, max=200, description=moment, layout={"width": "11em"},
                                 tooltip=f"right {moment}: {asked.title}")
                for count, moment in zip(counts, MOMENTS, strict=True)
            )  # fmt: skip
            lines.append(w.HBox([name, *self.boxes[key]], layout={"flex_flow": "row wrap"}))
        button = w.Button(description="Keep and count", tooltip="Keep these numbers on this computer")
        button.on_click(lambda _: self.press())
        self.reply = w.HTML()
        super().__init__([self.people, *lines, button, self.reply])

    def press(self) -> None:
        """Keep what is typed and show what was gained, or say what is wrong."""
        counts = {key: [box.value for box in boxes] for key, boxes in self.boxes.items()}
        too_many = [key for key, each in counts.items() if max(each) > self.people.value]
        try:
            if too_many:
                title = beliefs()[too_many[0]].title
                raise Failure(f"{title}: more were right than there are people. Fix: correct one of the two.")
            kept = json.dumps({"people": self.people.value, **counts}, indent=1)
            write_file(MINE, kept + "\n", force=True)
        except Failure as error:
            self.reply.value = f'<p role="status"><b>{escape(str(error))}</b></p>'
            return
        self.reply.value = f'<div role="status">{self.table.html}</div>'

    @property
    def table(self) -> Grid:
        """Right before and after of every question, and how much of what could be gained was."""
        people, rows = self.people.value, []
        for letter, (key, (before, after)) in zip(ascii_uppercase, self.boxes.items(), strict=False):
            rows.append([f"{letter}. {beliefs()[key].title}", *_gain(before.value, after.value, people)])
        first, last = (sum(boxes[k].value for boxes in self.boxes.values()) for k in (0, 1))
        rows.append(["all", *_gain(first, last, people * len(rows))])
        return grid(
            "The group before and after",
            ["question", "right before", "right after", "gained of what could be"],
            rows,
            "Kept in group-score.json on this computer only; nobody's name is in it.",
            "How much a class gains by this kit is not known: it is unmeasured until classes have used it.",
        )

    def _repr_mimebundle_(self, **kwargs):
        return super()._repr_mimebundle_(**kwargs) | self.table._repr_mimebundle_()


def _gain(before: int, after: int, people: int) -> tuple[str, str, str]:
    if not people:
        return "", "", ""
    room = people - before
    return f"{before} of {people}", f"{after} of {people}", f"{(after - before) / room:.0%}" if room else ""


def _kept() -> dict:
    """Return what was kept; nothing where the file cannot be read."""
    try:
        kept = json.loads(MINE.read_text(encoding="utf-8"))
        known = {"people": int(kept.pop("people"))}
        return known | {key: [int(x) for x in kept[key]][:2] for key in beliefs() if len(kept[key]) == 2}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}
