"""Write again whatever a program writes here: `python -m tests.regenerate [name ...]`.

Without a name everything is written, which takes some minutes: `systems` runs
every plan in three other solvers, `workbooks` executes every workbook. Look at
what changed before you commit it. A test that fails for want of one of these
says which (`renew`).
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from aquacalc.equations import forms
from aquacalc.live import translate
from aquacalc.plan import document
from aquacalc.report import as_json

ROOT = Path(__file__).resolve().parent.parent


def _evidence() -> str:
    from tests import evidence

    return evidence.text(evidence.COLUMNS, evidence.case_rows())


def _works() -> str:
    from tests import evidence

    return evidence.text(evidence.WORK_COLUMNS, evidence.work_rows())


def _systems() -> str:
    from tests import evidence

    return evidence.text(evidence.SYSTEM_COLUMNS, evidence.system_rows())


#: name -> the file, and what writes its text.
FILES: dict[str, tuple[Path, Callable[[], str]]] = {
    "forms": (forms.FILE, forms.made),
    "keys": (ROOT / "data" / "plan-keys.md", document.document),
    "report-shape": (ROOT / "data" / "report-shape.md", as_json.shape_document),
    "evidence": (ROOT / "data" / "evidence.csv", _evidence),
    "works": (ROOT / "data" / "evidence-works.csv", _works),
    "engine-js": (translate.FILE, translate.engine_js),
    "systems": (ROOT / "data" / "evidence-system.csv", _systems),
}


def renew(name: str) -> str:
    """Say what to do when a file is not what would be written now."""
    return f"run `python -m tests.regenerate {name}` and look at what changed"


def main(names: list[str]) -> int:
    """Write the files named, all of them when none is; 0, or 2 for a name that is none."""
    wrong = [name for name in names if name not in (*FILES, "workbooks")]
    if wrong:
        print(f"{wrong[0]!r} is nothing that is written here; use {', '.join((*FILES, 'workbooks'))}")
        return 2
    for name, (path, made) in FILES.items():
        if not names or name in names:
            text = made()
            same = path.exists() and path.read_text(encoding="utf-8") == text
            path.write_text(text, encoding="utf-8")
            print(f"{name}: {path.relative_to(ROOT)} {'as it was' if same else 'CHANGED'}", flush=True)
    if not names or "workbooks" in names:
        from tests import workbook_run

        workbook_run.main([])
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
