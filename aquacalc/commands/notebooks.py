"""Reading a workbook for a command, with one line for whatever is wrong with it."""

from __future__ import annotations

from pathlib import Path

from aquacalc.failure import Failure


def read_notebook(path: Path):
    """Read a workbook.

    Returns
    -------
    nbformat.NotebookNode

    Raises
    ------
    Failure
    """
    import nbformat

    try:
        notebook = nbformat.read(path, as_version=4)
        nbformat.validate(notebook)
    except OSError as error:
        raise Failure(
            f"{path}: cannot be read ({error.strerror}). Fix: check the name and the folder."
        ) from None
    except Exception:  # nbformat raises many kinds for what is no notebook
        raise Failure(f"{path}: is not a workbook. Fix: name a file that ends in .ipynb.") from None
    return notebook
