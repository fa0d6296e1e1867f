"""Pages that compute by themselves: the engine as JavaScript, with no Python and no network."""
