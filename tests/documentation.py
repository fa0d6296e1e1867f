"""Documentation of the library and its workbooks as pages that open offline and can be searched.

`python -m tests.documentation FOLDER`, then open FOLDER/index.html. pdoc writes the pages.
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType

import nbformat
import pdoc

import aquacalc
from aquacalc.equations import RECORDS
from aquacalc.evidence.documentation import documentation
from aquacalc.files import write_file
from aquacalc.teaching.handout import handout


def modules() -> list[str]:
    """Name every module that somebody could import."""
    found = [aquacalc.__name__]
    for module in pkgutil.walk_packages(aquacalc.__path__, "aquacalc."):
        if not module.name.endswith("__main__") and ".commands.lab" not in module.name:
            found.append(module.name)
    return found


def page_of_words(name: str, words: str) -> str:
    """Make a module that is only words, so that they are shown and searched as the rest is."""
    module = ModuleType(name, words)
    module.__spec__ = ModuleSpec(name, None)
    sys.modules[name] = module
    return name


def equations() -> str:
    """Write the documentation of every equation."""
    parts = []
    for key in RECORDS:
        first, _, rest = documentation(key).partition("\n")
        parts.append(f"## {key}\n\n`{first}`\n{rest}\n")
    return "Every equation: formula, units, range, references, an example that runs.\n\n" + "\n".join(parts)


def workbook(path: Path, folder: Path) -> str:
    """Write a workbook's page; return its words with a link to it."""
    notebook = nbformat.read(path, 4)
    write_file(folder / f"{path.stem}.html", handout(notebook, path.name, path.parent), force=True)
    words = "\n\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    return f"[This workbook as a page]({path.stem}.html)\n\n{words}"


def main(folder: Path) -> None:
    """Write all of it."""
    folder.mkdir(parents=True, exist_ok=True)
    for module in (aquacalc, importlib.import_module("aquacalc.equations")):
        for name in module.__all__:
            setattr(module, name, getattr(module, name))  # what is loaded when it is used, pdoc does not see
    names = modules()
    for name in names:
        importlib.import_module(name)
    names.append(page_of_words("equations", equations()))
    for path in sorted((Path(aquacalc.__file__).parents[1] / "workbooks").glob("*.ipynb")):
        names.append(page_of_words(f"workbook_{path.stem.replace('-', '_')}", workbook(path, folder)))
    pdoc.render.configure(
        docformat="numpy", footer_text=f"aquacalc {aquacalc.__version__}", search=True, show_source=False
    )
    pdoc.pdoc(*names, output_directory=folder)
    print(f"{len(names)} pages: {folder / 'index.html'}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
