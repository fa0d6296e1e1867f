"""The one error of a plan: where, what value, what is wrong, what to write instead."""

from __future__ import annotations


class PlanError(ValueError):
    """A plan that cannot be used as it is written.

    Attributes
    ----------
    file : str
        The plan's file name.
    key : str
        Path of the key: "bed.bed 1.length"; "" when the whole file is meant.
    value : str
        The value as given; "" when there is none.
    reason : str
        What is wrong with it.
    fix : str
        What to write or do instead.
    """

    def __init__(self, file: str, key: str, value: object, reason: str, fix: str):
        self.file = str(file)
        self.key = key
        self.value = _shown(value)
        self.reason = reason
        self.fix = fix
        place = f"{self.file}: {key}" if key else self.file
        given = f" = {self.value}" if self.value else ""
        super().__init__(" ".join(f"{place}{given}: {reason}. Fix: {fix}".split()))


def _shown(value: object) -> str:
    """One short line of the value as TOML would have it."""
    if value is None or value == "":
        return ""
    try:
        text = f'"{value}"' if isinstance(value, str) else str(value)
    except ValueError:  # Python writes no whole number of more than 4300 digits
        text = "a number of thousands of digits"
    text = "".join(c if c.isprintable() else " " for c in text)
    return text if len(text) <= 80 else text[:77] + "..."
