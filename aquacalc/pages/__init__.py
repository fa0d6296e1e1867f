"""Pages: their style, their maths, and writing them over nothing that is not our own."""
