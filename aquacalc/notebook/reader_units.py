"""The reader's units: one setting for every panel of the notebook."""

from __future__ import annotations

import weakref

import ipywidgets as w

SYSTEMS = {"metric": "metric (mm, L/min)", "us": "US (in, gpm)"}

_now = "metric"
_chosen = False
_followers: weakref.WeakSet = weakref.WeakSet()


def units() -> str:
    """Return the system in use: "metric" or "us"."""
    return _now


def use(system: str) -> None:
    """Show everything in one system of units; panels that are open change at once.

    Parameters
    ----------
    system : {"metric", "us"}

    Raises
    ------
    ValueError
        For any other name.
    """
    global _chosen
    if system not in SYSTEMS:
        raise ValueError(f'units {system!r} are not known; write "metric" or "us"')
    _chosen = True
    _switch(system)


def propose(system: str) -> None:
    """Use the units of a plan, unless the reader has chosen some already."""
    if not _chosen:
        _switch(system)


def _switch(system: str) -> None:
    global _now
    if system == _now:
        return
    _now = system
    for follower in list(_followers):
        follower.switch(system)


def follow(follower) -> None:
    """Have `follower.switch(system)` called when the units change."""
    _followers.add(follower)


def unfollow(follower) -> None:
    """Call it no longer."""
    _followers.discard(follower)


class UnitSwitch(w.ToggleButtons):
    """Buttons that switch every panel of the notebook between metric and US units."""

    def __init__(self):
        super().__init__(
            options=[(words, system) for system, words in SYSTEMS.items()],
            value=_now,
            description="Units",
            style={"button_width": "auto"},
        )
        self.observe(lambda change: use(change["new"]), "value")
        follow(self)

    def close(self) -> None:
        """Take the buttons away; they follow the units no longer."""
        unfollow(self)
        super().close()

    def switch(self, system: str) -> None:
        """Show which system is in use."""
        self.value = system

    def _repr_mimebundle_(self, **kwargs):
        return super()._repr_mimebundle_(**kwargs) | {"text/plain": f"Units: {SYSTEMS[self.value]}"}
