"""What a value that something is held against is worth: eight kinds, best first."""

from __future__ import annotations

READ = "published (read)"
SECOND_HAND = "published (second-hand)"
RECOMPUTED = "published (recomputed)"
LIBRARY = "reference library"
ABSTRACT = "published (abstract)"
MEMORY = "published (from memory)"
PRACTICE = "common practice"
OWN = "own arithmetic"

#: kind -> what it means, best first.
MEANING = {
    READ: "the number was seen in the work named",
    SECOND_HAND: "the number was seen in another work, which gives it as the named work's",
    RECOMPUTED: "a worked example of the work named, worked out again by others from the book's inputs",
    LIBRARY: "a general-purpose library worked it out when the tests ran",
    ABSTRACT: "only the abstract of the work was read",
    MEMORY: "recalled from the work named and not seen again",
    PRACTICE: "passed around in the trade, without a source",
    OWN: "our own arithmetic from stated inputs: an identity, no evidence from outside",
}
#: Print that was read, here or second-hand or recomputed, and reference libraries.
COUNTED = (READ, SECOND_HAND, RECOMPUTED, LIBRARY)
#: What somebody could look up.
OUTSIDE = (*COUNTED, ABSTRACT, MEMORY)


def best(kinds) -> str:
    """Return the best of several kinds."""
    return min(kinds, key=list(MEANING).index)
