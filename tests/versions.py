"""Run the suite with other versions: each Python, and the lowest and newest that pyproject.toml allows.

`python -m tests.versions` does all of them one after another, four to six
minutes each and more on a busy machine; `python -m tests.versions 3.13
3.11-lowest` does some. Each gets an environment of its own in a temporary
folder (`--keep FOLDER` keeps them) and what it printed goes beside it.
Browser tests are left out: the browser is the same for all.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
#: The lowest versions go with the lowest Python: later ones have no wheels of them.
ALL = ("3.11-lowest", "3.11", "3.12", "3.13")
SUITE = ("-m", "not browser", "-p", "no:cacheprovider", "-n", "1", "--dist", "loadfile",
         "--no-loadscope-reorder")  # fmt: skip


def lowest() -> list[str]:
    """Return every dependency of the project pinned to its lower bound, for `pip --constraint`."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"].values()
    named = [one for many in (project["dependencies"], *extras) for one in many if "aquacalc[" not in one]
    return [re.sub(r"^([\w.-]+)>=([\w.]+).*", r"\1==\2", one) for one in named]


def interpreter(version: str) -> str:
    """Return the interpreter of a version: from the search path, or where pyenv keeps them."""
    kept = sorted(Path.home().glob(f".pyenv/versions/{version}.*/bin/python"))
    found = str(kept[-1]) if kept else shutil.which(f"python{version}")
    if not found:
        raise SystemExit(f"Python {version} is not installed. Fix: install it, or name other versions.")
    return found


def environment(name: str, folder: Path) -> Path:
    """Make an environment with the project and its tests, and return its interpreter."""
    version, _, low = name.partition("-")
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.exists():
        subprocess.run([interpreter(version), "-m", "venv", folder], check=True)
        pins = folder / "constraints.txt"
        pins.write_text("\n".join(lowest() if low else []), encoding="utf-8")
        subprocess.run(
            [python, "-m", "pip", "install", "-q", "--disable-pip-version-check", "-c", pins, "-e",
             f"{ROOT}[test]"],
            check=True,
        )  # fmt: skip
    return python


def main(argv: list[str] | None = None) -> int:
    """Run the suite for each version; print a table, and return 1 when any of them failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.versions", description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", metavar="VERSION", help=", ".join(ALL))
    parser.add_argument("--keep", metavar="FOLDER", type=Path, help="keep environments and use them again")
    args = parser.parse_args(argv)
    kept = args.keep or Path(tempfile.mkdtemp(prefix="aquacalc-versions-"))
    failed = False
    try:
        for name in args.names or ALL:
            begun = time.monotonic()
            python = environment(name, kept / name)
            log = kept / f"{name}.txt"
            with log.open("w", encoding="utf-8") as out:
                suite = subprocess.run([python, "-m", "pytest", *SUITE], cwd=ROOT, stdout=out, stderr=out)
            last = log.read_text(encoding="utf-8").rstrip().splitlines()[-1]
            print(f"{name}: {last} ({time.monotonic() - begun:.0f} s in all)", flush=True)
            failed = failed or suite.returncode != 0
    finally:
        if args.keep is None and not failed:
            shutil.rmtree(kept)
        elif failed:
            print(f"What they printed: {kept}")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
