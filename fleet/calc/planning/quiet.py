"""The solver's library writes some lines of its own to standard output, whatever it is asked: they
go to standard error, so that what a command prints stays whole."""

import ctypes
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress

OUT, ERR = 1, 2


def _flush() -> None:
    """The library's own buffer, which Python does not know of."""
    with suppress(OSError, TypeError, AttributeError):
        ctypes.CDLL(None).fflush(None)


@contextmanager
def diverted() -> Iterator[None]:
    try:
        kept = os.dup(OUT)
        _flush()
        os.dup2(ERR, OUT)
    except OSError:  # no standard output to keep clean
        yield
        return
    try:
        yield
    finally:
        _flush()
        os.dup2(kept, OUT)
        os.close(kept)
