"""A workbook without its answers, for the learner."""

from __future__ import annotations

import copy
import re

#: Tags of a cell that holds an answer, and of one that is for the teacher only.
ANSWER, TEACHER = "answer", "teacher"
#: What a copy says of itself: a handout of it has a line for the name.
LEARNER = "learner"
_SHOWN = re.compile(r"\s*solution\(")
_FOLDED = re.compile(r"<details>\s*<summary>\s*(?:<\w+>\s*)?Answer.*?</details>\n?", re.S | re.I)


def without_answers(notebook):
    """Return a copy of a notebook with its answers taken out.

    An answer is a cell that shows a `solution`, one tagged "answer", or a
    folded block in a text whose summary begins with "Answer". Cells tagged "teacher" go too, and saved
    states of widgets: they may hold what a teacher typed.

    Parameters
    ----------
    notebook : nbformat.NotebookNode

    Returns
    -------
    tuple of (nbformat.NotebookNode, int)
        The copy, and how many answers were taken out.
    """
    made = copy.deepcopy(notebook)
    kept, taken = [], 0
    for cell in made.cells:
        tags = cell.metadata.get("tags", ())
        answer = ANSWER in tags or (cell.cell_type == "code" and _SHOWN.match(cell.source))
        if answer or TEACHER in tags:
            taken += bool(answer)
            continue
        if cell.cell_type == "markdown":
            cell.source, folded = _FOLDED.subn("", cell.source)
            taken += folded
        kept.append(cell)
    made.cells = kept
    made.metadata.pop("widgets", None)
    made.metadata["aquacalc"] = {"copy": LEARNER}
    return made, taken
