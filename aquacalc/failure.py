"""What a command says, in one line, when it could not do what it was asked."""


class Failure(Exception):
    """A reason and its mend, in one line for the reader."""


class NotWritten(Failure, OSError):
    """A file or folder that could not be written; whatever was there is untouched."""


class AlreadyThere(NotWritten, FileExistsError):
    """Something is there already that was not meant to be replaced."""
