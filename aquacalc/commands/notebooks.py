"""Reading a workbook for a command, with one line for whatever is wrong with it."""

from __future__ import annotations

from pathlib import Path

from aquacalc.failure import Failure

#: A workbook with all its pictures is 1 MB or two; making a page of 10 MB takes longer than anybody waits.
LARGEST = 8_000_000


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

    if path.exists() and not path.is_file():
        raise Failure(f"{path}: is a folder, a pipe or a device. Fix: name a file that ends in .ipynb.")
    if path.exists() and path.stat().st_size > LARGEST:
        raise Failure(f"{path}: is over 8 MB. Fix: clear its largest outputs, and save it.")
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
