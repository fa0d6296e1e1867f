"""What a reader is shown, kept page by page and compared with what the code shows today.

    python -m tests.shown            say what differs; exit status 1 when anything does
    python -m tests.shown star       the same of the pages whose name holds this
    python -m tests.shown --write    keep what is shown now, after saying what differs

Words have to be the same; a number may be off by one in the last digit that is shown, so that another
processor's last bit passes. What is kept is our own past output: it keeps a change of code from changing a
word, a number or the place of a line unseen, and is evidence of nothing.
"""
