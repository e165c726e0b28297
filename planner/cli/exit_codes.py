"""How a command ends, told to the shell."""

from enum import IntEnum


class ExitCode(IntEnum):
    """The codes of every command; README lists them."""

    DONE = 0
    NO_PLAN_EXISTS = 1
    BAD_INPUT = 2
    STOPPED_WITH_PLAN = 3
    STOPPED_EMPTY = 4
    INTERNAL_ERROR = 70
    INTERRUPTED = 130
    READER_GONE = 141
