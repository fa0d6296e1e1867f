"""Run workbooks and save them as they are committed: `python -m tests.workbook_run [02 03 ...]`.

What changes from run to run is left out: ids, timings, the live half of
widgets, which a reader without a kernel could not use anyway.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import nbformat

WORKBOOKS = Path(__file__).resolve().parent.parent / "workbooks"
LIVE = "application/vnd.jupyter.widget-view+json"
TIMEOUT = 120


def workbooks() -> list[Path]:
    """Every workbook, in order."""
    return sorted(WORKBOOKS.glob("*.ipynb"))


def tidy(notebook) -> None:
    """Leave out what changes from run to run."""
    notebook.metadata = nbformat.from_dict(
        {
            "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
            "language_info": {"name": "python"},
        }
    )
    notebook.nbformat_minor = 5
    for number, cell in enumerate(notebook.cells):
        cell["id"] = f"cell-{number:02d}"
        tags = cell.metadata.get("tags")
        kept = {"tags": list(tags)} if tags else {}
        kept |= {"live": cell.metadata["live"]} if "live" in cell.metadata else {}
        if cell.cell_type == "code":  # folded away; a click on its dots opens it
            kept["jupyter"] = {"source_hidden": True}
        cell.metadata = nbformat.from_dict(kept)
        for output in cell.get("outputs", ()):
            output.get("data", {}).pop(LIVE, None)


def run(path: Path) -> None:
    """Execute a workbook in place.

    Raises
    ------
    nbclient.exceptions.CellExecutionError
        When a cell fails.
    """
    from nbclient import NotebookClient

    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook,
        timeout=TIMEOUT,
        kernel_name="python3",
        store_widget_state=False,
        record_timing=False,
        resources={"metadata": {"path": str(path.parent)}},
    )
    client.execute()
    tidy(notebook)
    path.write_text(nbformat.writes(notebook, indent=1) + "\n", encoding="utf-8")


def main(names: list[str]) -> None:
    """Run the workbooks whose names begin so; all of them when none is named."""
    for path in workbooks():
        if not names or any(re.match(re.escape(name), path.name) for name in names):
            print(path.name, flush=True)
            run(path)


if __name__ == "__main__":
    main(sys.argv[1:])
