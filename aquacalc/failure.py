"""Why a command cannot do what it was asked, for the one line on the terminal."""


class Failure(Exception):
    """A command that cannot go on: `str()` says what is wrong and what to do."""
