"""The demo plan, and others, with single keys changed, as text."""

from __future__ import annotations

import re
from pathlib import Path

from aquacalc.catalogue import data_dir

DEMO = (data_dir() / "plans" / "greenhouse.toml").read_text(encoding="utf-8")
PLANS = Path(__file__).parent.parent / "plans"


def edited(*changes: tuple[str, dict], text: str = DEMO) -> str:
    """Return `text` with keys of its tables changed; a key of None is taken out, a new table is added.

    A table is named by its head ("siphon.tail"); "bed" and "run" without a
    number mean each of them, "run 3" the third.
    """
    for place, keys in changes:
        name, _, number = place.partition(" ")
        head = re.compile(rf"^\[\[?{re.escape(name)}\]\]?$")
        blocks = re.split(r"(?m)(?=^\[)", text)
        mine = [i for i, block in enumerate(blocks) if head.match(block.split("\n", 1)[0].strip())]
        if not mine:
            blocks.append(f"\n[{name}]\n")
            mine = [len(blocks) - 1]
        if number:
            mine = [mine[int(number) - 1]]
        for i in mine:
            blocks[i] = _with(blocks[i], keys)
        text = "".join(blocks)
    return text


def _with(block: str, keys: dict) -> str:
    for key, value in keys.items():
        line = re.compile(rf"(?m)^{re.escape(key)} = .*\n")
        new = "" if value is None else f"{key} = {value}\n"
        if line.search(block):
            block = line.sub(lambda _, new=new: new, block, count=1)
        else:
            first, _, rest = block.partition("\n") if block.startswith("[") else block[1:].partition("\n")
            block = f"{first}\n{new}{rest}"
    return block
