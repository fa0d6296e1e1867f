"""The plan turned around: what to build, what was built, how sure it is, and many plans at once."""
