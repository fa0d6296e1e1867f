"""The part of the report that says how far to trust it: what is left out, how much that is, and when."""

from __future__ import annotations

import re
from dataclasses import replace

from aquacalc.report.records import Section
from aquacalc.report.wording import line, section, table, words


def trust_section(system: str) -> Section:
    """Build what is left out, one line for each, in metric or US units."""

    def said(text: str) -> str:
        return re.sub(r"\[(.*?)\|(.*?)\]", r"\2" if system == "us" else r"\1", text)

    lines = (
        line(what, said(size), said(when)) for what, size, when in words()["table"]["left_out"]["effects"]
    )
    made = section("trust", tables=(table("left_out", lines),))
    return replace(made, intro=said(made.intro))
