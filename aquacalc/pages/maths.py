"""Worked calculations on the page: MathML that needs no script and no network."""

from __future__ import annotations

import re
from functools import lru_cache
from html import escape

from aquacalc.equations import RECORDS, Equation
from aquacalc.equations.worked import Worked, Working, worked

_XMLNS = ' xmlns="http://www.w3.org/1998/Math/MathML"'
#: A unit is text, not a product of variables.
_UNIT = re.compile(r"\\mathrm\{((?:[^{}]|\{[^{}]*\})*)\}")
_STATUS = {"read": "read", "from memory": "from memory", "derived": "arithmetic from stated inputs"}


@lru_cache(maxsize=1024)
def mathml(latex: str, words: str) -> str:
    """Turn a row of LaTeX into a `<math>` element with `words` as its text equivalent."""
    from latex2mathml.converter import convert

    text = convert(_UNIT.sub(_unit, latex)).replace(_XMLNS, "", 1)
    return text.replace("<math", f'<math displaystyle="true" alttext="{escape(words)}"', 1)


def three_rows(done: Worked) -> str:
    """Set a worked calculation as formula, numbers and result, one below the other."""
    rows = zip(done.rows, (done.formula_text, done.numbers_text, done.result_text), strict=True)
    return "".join(f"<div>{mathml(*row)}</div>" for row in rows)


def _unit(match: re.Match) -> str:
    plain = match[1].replace("^{2}", "²").replace("^{3}", "³").replace("{", "").replace("}", "")
    return rf"\text{{{plain}}}"


def source_text(equation: Equation) -> str:
    """Say where an equation comes from."""
    source = equation.source
    parts = [source.primary or "no source"]
    if source.read and source.read != source.primary:
        parts.append(f"read in {source.read}")
    return f"{'; '.join(parts)} ({_STATUS.get(source.status, source.status)})"


class Workings:
    """Works out each equation with its values once, and remembers which equations were used."""

    def __init__(self, system: str):
        self.system = system
        self.used: dict[str, Equation] = {}
        self._done: dict[tuple, Worked] = {}

    def work(self, working: Working) -> Worked:
        """Return the worked calculation of one number."""
        key = (working.equation, working.solve_for, tuple(sorted(working.values.items())))
        if key not in self._done:
            equation = RECORDS[working.equation]
            self.used.setdefault(equation.key, equation)
            self._done[key] = worked(equation, working.values, self.system, working.solve_for)
        return self._done[key]

    def block(self, working: Working, anchor: str = "", heading: str = "") -> str:
        """Return the calculation as a block of HTML, with an id and a heading if given."""
        done = self.work(working)
        equation = RECORDS[working.equation]
        mark = f' id="{anchor}"' if anchor else ""
        out = [f'<div class="working"{mark}>']
        if heading:
            out.append(f"<h4>{escape(heading)}</h4>")
        out.append(f"<p>{escape(done.title)}</p>")
        if done.branch:
            out.append(f"<p>{escape(done.branch)}</p>")
        out.append(
            f'<div class="math" tabindex="0" role="group" aria-label="calculation">{three_rows(done)}</div>'
        )
        if done.where:
            out.append("<ul>" + "".join(f"<li>{escape(line)}</li>" for line in done.where) + "</ul>")
        out += [f'<p class="warning">Outside its range: {escape(str(w))}</p>' for w in done.warnings]
        out.append(f'<p class="soft">Source: {escape(source_text(equation))}.</p></div>')
        return "".join(out)
