"""A name, a button and a tick to save a plan; nothing that is there is replaced unless the tick is set."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as w

from aquacalc.notebook.saved_plan import MINE
from aquacalc.plan.model import Plan
from aquacalc.plan.write import save_plan


class SaveRow(w.HBox):
    """File name, "Save plan", and whether to replace a file that is there.

    Parameters
    ----------
    plan : callable
        Gives the plan to save; it may raise ValueError.
    say : callable
        Told in words what became of it.
    what : str
        Said of the button: "Save the plan as the sliders have it".
    """

    def __init__(self, plan: Callable[[], Plan], say: Callable[[str], None], what: str):
        self.name = w.Text(value=MINE, description="File", tooltip="File name of the plan to save",
                           layout={"width": "16em"})  # fmt: skip
        self.replace = w.Checkbox(value=False, description="replace a file that is there", indent=False)
        self.button = w.Button(description="Save plan", tooltip=what)
        self.plan, self.say = plan, say
        self.button.on_click(self._pressed)
        super().__init__([self.name, self.button, self.replace], layout={"flex_flow": "row wrap"})

    def _pressed(self, _) -> None:
        name = self.name.value
        try:
            save_plan(self.plan(), name, self.replace.value)
        except FileExistsError:
            self.say(f"{name} is there already. Give another name, or tick “{self.replace.description}”.")
        except (ValueError, LookupError) as error:
            self.say(f"Nothing was saved: {error}")
        except OSError as error:
            self.say(f"{name} could not be written: {error.strerror}.")
        else:
            self.replace.value = False
            self.say(f"Saved as {name}. The next workbook and the report open it.")
