"""Pages that compute by themselves: the engine as JavaScript, with no Python and no network."""

from importlib.resources import files

#: The library as the page runs it, and what binds it to sliders and pictures.
ENGINE = (files("aquacalc.live") / "engine.js").read_text(encoding="utf-8")
MOVING = (files("aquacalc.figures") / "live" / "moving.js").read_text(encoding="utf-8")
SCRIPT = (files("aquacalc.live") / "page.js").read_text(encoding="utf-8")
