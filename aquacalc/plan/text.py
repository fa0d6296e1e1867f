"""Text files that people write (plans, workshop files, prices, readings): read whole, or refused.

One pass over the text counts what a reader further on would choke on, before
anything is parsed.
"""

from __future__ import annotations

import json
import re
import stat
import tomllib
import unicodedata
from pathlib import Path

from aquacalc.plan.errors import PlanError

#: A file is some kB of text; a larger one is something else.
LARGEST_FILE = 1_000_000
MOST_LINES = 20_000
#: Most lines of a table of prices or readings.
MOST_ROWS = 5_000
LONGEST_LINE = 10_000
LONGEST_COMMENT = 2_000
#: Most brackets inside one another, parts of a dotted key, and digits of a number.
DEEPEST = 12
MOST_PARTS = 6
MOST_DIGITS = 40

_TOKEN = re.compile(
    r"""(?P<string>\"{3}(?:[^\\]|\\.)*?\"{3}|'{3}.*?'{3}|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')"""
    r"""|(?P<comment>\#[^\n]*)|(?P<word>[\w+-]+)|(?P<open>[\[{])|(?P<close>[\]}])|(?P<dot>\.)|(?P<other>[=,])|(?P<end>\n)""",
    re.DOTALL,
)
#: Where a live page keeps its plan, and the plan as its sliders had it when the page was saved.
_IN_PAGE = re.compile(r'<script type="application/json" class="plan-(data|moved)">(.*?)</script>', re.DOTALL)
_AT = re.compile(r"\(at line (\d+), column (\d+)\)")
_AT_END = re.compile(r"\(at end of document\)")
#: Characters that nobody sees and that turn or hide what stands beside them.
_UNSEEN = frozenset(
    chr(c)
    for c in (0x061C, 0x180E, 0x200B, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2060, 0x2070), 0xFEFF)
)


def read_text(path, error: type[PlanError] = PlanError, what: str = "a plan file") -> str:
    """Return the text of a file.

    Parameters
    ----------
    path : str or Path
    error : type
        Raised for what cannot be read.
    what : str
        What the file should be, for the error.

    Returns
    -------
    str
        With the byte-order mark and line ends that the file has.
    """
    file = str(path)
    try:
        mode, raw = Path(path).stat().st_mode, None
        if stat.S_ISREG(mode) or stat.S_ISDIR(mode):  # a pipe that nobody writes to would be waited for
            with Path(path).open("rb") as stream:
                raw = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise error(file, "", "", "there is no such file", "check the name and the folder") from None
    except IsADirectoryError:
        raise error(file, "", "", "is a folder", f"name {what} inside it") from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        fix = "check the name and your rights to it"
        raise error(file, "", "", f"cannot be read ({reason})", fix) from None
    if raw is None:
        raise error(file, "", "", "is a pipe or a device, not a file", f"save {what} to disk and name it")
    if len(raw) > LARGEST_FILE:
        raise error(file, "", "", "is over 1 MB, far too large", f"name {what}, which is a few kB of text")
    if b"\0" in raw:
        raise error(file, "", "", "is a binary file", "save it as plain text in UTF-8")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        fix = "save it as plain text in UTF-8"
        raise error(file, f"line {line}", "", "is not text in UTF-8", fix) from None


def plan_text_of(text: str, file: str) -> str:
    """Return the plan's text of a file that is one, or that is a live page with a plan inside.

    Raises
    ------
    PlanError
        For a page without a plan.
    """
    if not text.lstrip("\ufeff \r\n").lower().startswith(("<!doctype html", "<html")):
        return text
    found: dict[str, dict] = {}
    try:
        for name, block in _IN_PAGE.findall(text):
            found.setdefault(name, json.loads(block))
        before = "".join(piece["before"] for piece in found.get("data", {}).get("pieces", ()))
        toml = found.get("moved", {}).get("toml") or before
        if not isinstance(toml, str):
            raise TypeError
    except (ValueError, TypeError, LookupError, AttributeError, RecursionError):
        fix = "write the page again with `aquacalc live`, or take an earlier copy of it"
        raise PlanError(file, "", "", "is a page whose plan is damaged", fix) from None
    if not toml:
        fix = "name the plan's own file, or a page that `aquacalc live` wrote"
        raise PlanError(file, "", "", "is a page without a plan in it", fix)
    return toml


def read_toml(text: str, file: str, error: type[PlanError] = PlanError) -> dict:
    """Return the tables of a TOML text, after a count of what it holds.

    Raises
    ------
    PlanError
        Or the `error` given: one that names line, value and fix.
    """
    text = text.removeprefix("\ufeff")
    if "\r" in text and "\n" not in text:
        reason = "ends its lines with CR alone, as TOML does not"
        raise error(file, "", "", reason, "save it with line ends of Unix (LF) or Windows (CRLF)")
    problem = _too_much(text)
    if problem:
        line, reason, fix = problem
        raise error(file, f"line {line}" if line else "", "", reason, fix)
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as found:
        raise _syntax_error(file, text, str(found), error) from None


def check_rows(text: str, file: str, error: type[PlanError] = PlanError) -> list[str]:
    """Return the lines of a CSV text; refuse too many, too long ones, and control characters."""
    lines = text.removeprefix("\ufeff").splitlines()
    if len(lines) > MOST_ROWS:
        raise error(
            file, "", f"{len(lines)} lines", f"is over {MOST_ROWS} lines", "keep what this plan needs"
        )
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            raise error(file, f"line {number}", "", "is too long", f"keep it under {LONGEST_LINE} characters")
        if not line.isprintable() and not clean(line.replace("\t", " ")):
            fix = "type the line again"
            raise error(file, f"line {number}", line, "holds characters that nobody can see", fix)
    return lines


def clean(text: str, lines: bool = False) -> bool:
    """Whether a text holds only characters that can be seen; `lines` allows line ends and tabs."""
    if text.isprintable() and _UNSEEN.isdisjoint(text):
        return True
    return not any(
        c in _UNSEEN
        or (unicodedata.category(c) in ("Cc", "Cs", "Co", "Zl", "Zp") and not (lines and c in "\n\r\t"))
        for c in text
    )


def _too_much(text: str) -> tuple[int, str, str] | None:
    """Count what the text holds; return (line, reason, fix) for what no such file needs."""
    line, start, depth, dots = 1, 0, 0, 0
    keys = "write it as data/plan-keys.md shows"
    for found in _TOKEN.finditer(text):
        kind, token = found.lastgroup, found.group()
        if kind == "dot":
            dots += 1
            if dots >= MOST_PARTS:
                return line, "has a key of too many parts", keys
        elif kind == "open":
            depth += 1
            if depth > DEEPEST:
                return line, "is nested too deeply", keys
        elif kind == "close":
            depth = max(depth - 1, 0)
        elif kind == "comment":
            if len(token) > LONGEST_COMMENT:
                return line, "has a comment that is too long", f"keep it under {LONGEST_COMMENT} characters"
        elif kind == "word":
            if len(token) > MOST_DIGITS and sum(map(str.isdigit, token)) > MOST_DIGITS:
                return line, "has a number of too many digits", "write a number that can be measured"
        elif kind == "end" or "\n" in token:
            here = found.start() + token.index("\n")
            if here - start > LONGEST_LINE:
                return line, "is too long", f"keep a line under {LONGEST_LINE} characters"
            line, start = line + token.count("\n"), found.start() + token.rindex("\n") + 1
            if line > MOST_LINES:
                return 0, f"is over {MOST_LINES} lines", "keep only what the plan needs"
        if kind in ("open", "close", "comment", "end", "other"):
            dots = 0
    if len(text) - start > LONGEST_LINE:
        return line, "is too long", f"keep a line under {LONGEST_LINE} characters"
    return None


def _syntax_error(file: str, text: str, message: str, error: type[PlanError]) -> PlanError:
    found = _AT.search(message)
    reason = _AT_END.sub("", _AT.sub("", message)).strip().rstrip(".") or "it cannot be read"
    lines = text.splitlines() or [""]
    line, column = (int(found[1]), int(found[2])) if found else (len(lines), len(lines[-1]) + 1)
    given = lines[min(line, len(lines)) - 1].strip()
    return error(
        file,
        f"line {line}, column {column}",
        given,
        f"is not TOML ({reason[:1].lower() + reason[1:]})",
        'write each line as key = "value", with text in quotes on one line',
    )
