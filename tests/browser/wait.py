"""Waiting for a page without its policy in the way."""

from __future__ import annotations

import time

#: Seconds.
PATIENCE = 60.0


def until(page, script: str, given=None) -> None:
    """Wait until a script is true; Playwright's own wait needs `eval`, which a page's policy forbids."""
    end = time.monotonic() + PATIENCE
    while not page.evaluate(script, given):
        assert time.monotonic() < end, f"still not so after {PATIENCE:.0f} s: {script}"
        page.wait_for_timeout(30)
