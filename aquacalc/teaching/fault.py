"""A system with a hidden fault: buy readings, commit to a cause and say how sure, then see it.

Each learner's file holds another fault, sealed so that it is not read by accident. The teacher's table
says which faults were taken for which, and how often "sure" was right.
"""

from __future__ import annotations

import base64
import hashlib
import json
import random
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache
from html import escape
from pathlib import Path

import ipywidgets as w

from aquacalc.design.readings import READINGS, Reading, predict
from aquacalc.failure import Failure
from aquacalc.files import write_file
from aquacalc.notebook.drain_panels import tail_bends
from aquacalc.notebook.panel_pictures import Section
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.saved_plan import demo_plan
from aquacalc.notebook.strainer_panels import with_openings
from aquacalc.notebook.table import Grid, grid
from aquacalc.notebook.tuning_panels import FittedPanel, less_flow, with_bore, with_drain
from aquacalc.plan import edit
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.units import show

#: Readings that a learner may buy.
BUDGET = 5
#: How sure a learner may say to be, in 100.
SURE = (25, 50, 75, 95)


@dataclass(frozen=True)
class Fault:
    """What is wrong in words, the plan that has it, and how it shows itself."""

    words: str
    put: Callable[[Plan], Plan]
    shows: str


FAULTS = {
    "pump": Fault("the pump delivers a quarter less", lambda p: less_flow(p, 0.75),
                  "the jug shows it, and nothing else is needed"),
    "media": Fault("the media hold a fifth less water", lambda p: _porosity(p, 0.8),
                   "the sump rises less, while the jug is right"),
    "strainers": Fault("nine of ten slots are clogged", lambda p: with_openings(p, 0.1),
                       "draining is slow and water stays in the beds, while start and filling are right"),
    "line": Fault("the drain line is 1 in instead of 1-1/2 in", lambda p: with_drain(p, "1 in"),
                  "much water is left in the far bed when the siphon stops"),
    "tail": Fault("the tail has sharp square bends", lambda p: tail_bends(p, "bend 90, sharp"),
                  "draining is a third slower, and the beds still empty"),
    "bore": Fault("the standpipe and tail are 3/4 in instead of 1 in", lambda p: with_bore(p, "3/4 in"),
                  "it starts at half the flow and drains more than twice as long"),
}  # fmt: skip


def _porosity(plan: Plan, part: float) -> Plan:
    return edit.put(plan, {f"bed.{b.name}.porosity": part * b.media.porosity for b in plan.beds})


def sealed(learner: str) -> str:
    """Return the key of a learner's fault: always the same for a name, without order from name to name."""
    number = int.from_bytes(hashlib.sha256(learner.strip().lower().encode()).digest()[:8], "big")
    return random.Random(number).choice(list(FAULTS))


def seal(content: dict) -> str:
    """Write something so that nobody reads it by accident; it is no secret."""
    return base64.b85encode(zlib.compress(json.dumps(content).encode())).decode()


def unseal(text: str) -> dict:
    """Read what `seal` wrote.

    Raises
    ------
    Failure
        When it is something else.
    """
    try:
        return json.loads(zlib.decompress(base64.b85decode(text)))
    except (ValueError, zlib.error) as error:
        raise Failure("this is not a sealed fault. Fix: take the file as the page wrote it.") from error


@cache
def _run(key: str) -> SystemCycle:
    return run_plan(FAULTS[key].put(demo_plan()) if key else demo_plan())


def reading(key: str, what: str) -> float:
    """Return a reading of the demo system with a fault ("": none), SI; not a number where there is none."""
    plan = _run(key).plan
    bed = plan.beds[0].name if what == "level at break" else ""
    return predict(plan, _run(key), plan.siphons[0], Reading(what, 1.0, 1.0, bed))


class FaultHunt(w.VBox):
    """The learner's side: a name, readings to buy, a cause and how sure, then the water and the cause.

    Parameters
    ----------
    folder : str or Path
        Where the learner's file goes.
    """

    def __init__(self, folder: str | Path = "."):
        self.folder = Path(folder)
        self.bought: list[str] = []
        self.done: dict | None = None
        self.name = w.Text(description="Name", placeholder="any name; no two alike")
        self.what = w.Dropdown(options=list(READINGS), description="Reading")
        buy = w.Button(description="Take this reading", tooltip="Costs one of five")
        self.seen = w.HTML()
        none, wide = ("choose one", ""), {"width": "30em", "max_width": "100%"}
        causes = [none, *((f.words, key) for key, f in FAULTS.items())]
        self.cause = w.Dropdown(options=causes, description="Cause", layout=wide)
        self.sure = w.Dropdown(options=[none, *((f"{s} in 100", s) for s in SURE)], description="How sure")
        commit = w.Button(description="That is it", tooltip="Commit; it cannot be changed afterwards")
        self.reply = w.VBox([])
        buy.on_click(lambda _: self.buy(self.what.value))
        commit.on_click(lambda _: self.commit(self.cause.value, self.sure.value))
        self.buttons = (buy, commit)
        super().__init__([
            self.name, w.HBox([self.what, buy], layout={"flex_flow": "row wrap"}), self.seen, self.cause,
            w.HBox([self.sure, commit], layout={"flex_flow": "row wrap"}), self.reply,
        ])  # fmt: skip

    def buy(self, what: str) -> None:
        """Take a reading, if there is a name and any is left."""
        if not self.name.value.strip():
            self._say("Give a name first: it decides which fault is yours.")
        elif len(self.bought) >= BUDGET and what not in self.bought:
            self._say(f"All {BUDGET} readings are taken. Now say what it is.")
        else:
            self.name.disabled = True
            self.bought += [what] if what not in self.bought else []
            left = BUDGET - len(self.bought)
            self._say(f"{left} {'reading' if left == 1 else 'readings'} left.")

    @property
    def table(self) -> Grid:
        """The readings taken beside what the plan says."""
        keys = ("", sealed(self.name.value))
        rows = [
            [what, *(show(reading(key, what), READINGS[what][0], units()) for key in keys)]
            for what in self.bought
        ]
        return grid("Readings", ["reading", "as planned", "as it is"], rows or [["none yet", "", ""]])

    def _say(self, text: str) -> None:
        shown = self.table.html if self.bought else ""
        self.seen.value = f'<div role="status">{shown}<p>{escape(text)}</p></div>'

    def commit(self, cause: str | None, sure: int | None) -> None:
        """Keep the diagnosis, sealed with its fault, and show what it was. The first one counts."""
        name = hashlib.sha256(self.name.value.strip().lower().encode()).hexdigest()[:8]
        path = self.folder / f"fault-{name}.sealed"
        stopped = {
            "Take a reading first.": not self.bought,
            "Choose a cause and how sure you are first.": not (cause and sure),
            "This name has committed already: the first answer counts.": self.done or path.exists(),
        }
        if said := next((said for said, so in stopped.items() if so), ""):
            self._say(said)
            return
        key = sealed(self.name.value)
        self.done = {"fault": key, "said": cause, "sure": sure, "bought": self.bought}
        try:
            write_file(path, seal(self.done) + "\n")
        except Failure as error:
            self.done = None
            self._say(str(error))
            return
        for button in self.buttons:
            button.disabled = True
        fault = FAULTS[key]
        right = "Right" if cause == key else f"No. You said: {FAULTS[cause].words}"
        told = f"{right}, {sure} in 100 sure. It is: {fault.words}. How it shows: {fault.shows}."
        verdict = w.HTML(f'<p role="status"><b>{escape(told)}</b> Here is its water:</p>')
        panel = FittedPanel(fault.put(replace(demo_plan(), units=units())))
        panel.chooser.value, panel.saving.layout.display = Section, "none"  # not the learner's own plan
        self.reply.children = (verdict, panel)

    def _repr_mimebundle_(self, **kwargs):
        causes = [[f.words, "☐"] for f in FAULTS.values()]
        sheet = grid(
            "What is wrong with this system?", ["cause", "mine"], causes,
            f"Readings to take, {BUDGET} at most: {', '.join(READINGS)}.", "How sure am I? ____ in 100",
        )  # fmt: skip
        return super()._repr_mimebundle_(**kwargs) | sheet._repr_mimebundle_()


def hunts(folder: str | Path = ".") -> list[dict]:
    """Read every learner's file of a folder.

    Raises
    ------
    Failure
        Naming a file that is none.
    """
    found = []
    for path in sorted(Path(folder).glob("fault-*.sealed")):
        try:
            one = unseal(path.read_text(encoding="utf-8").strip())
            if one["fault"] not in FAULTS or one["said"] not in FAULTS or one["sure"] not in SURE:
                raise KeyError
        except (Failure, KeyError, TypeError, UnicodeDecodeError):
            raise Failure(f"{path}: is not a sealed fault. Fix: take it out of the folder.") from None
        found.append(one)
    return found


def mistaken(found: Iterable[dict]) -> Grid:
    """Return which faults were taken for which, as a table for the teacher.

    Parameters
    ----------
    found : iterable of dict
        As `hunts` reads them.
    """
    counts: dict[tuple[str, str], int] = {}
    for one in found:
        counts[one["fault"], one["said"]] = counts.get((one["fault"], one["said"]), 0) + 1
    rows = [
        [FAULTS[fault].words, "right" if fault == said else FAULTS[said].words, count]
        for (fault, said), count in sorted(counts.items(), key=lambda item: -item[1])
    ]
    return grid(
        "What was taken for what", ["it was", "taken for", "how often"], rows or [["no files", "", ""]]
    )


def calibration(found: Iterable[dict]) -> Grid:
    """Return how often each degree of "sure" was right, as a table for the teacher.

    Parameters
    ----------
    found : iterable of dict
        As `hunts` reads them.
    """
    found, rows = list(found), []
    for sure in SURE:
        each = [one["fault"] == one["said"] for one in found if one["sure"] == sure]
        rows.append([f"{sure} in 100", len(each), f"{sum(each)} of {len(each)}" if each else ""])
    note = "Who is as sure as right is right about as often as said. A few answers say little."
    return grid("How well sure was right", ["said to be sure", "answers", "right"], rows, note)
