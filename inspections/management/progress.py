"""Progress of a long command, one line on stderr: stdout stays fit for a pipe."""

from collections.abc import Callable
from typing import Any


def progress_to(stream: Any) -> Callable[[str, int, int], None]:
    """Says what is being done; on a terminal the line is rewritten, elsewhere each task is one."""
    is_terminal = hasattr(stream, "isatty") and stream.isatty()
    last = ""

    def progress(doing: str, done: int, total: int) -> None:
        nonlocal last
        if is_terminal:
            share = f" {done:,} of {total:,}" if total else ""
            stream.write(f"\r\x1b[K{doing}{share}", ending="")
            stream.flush()
        elif doing != last:
            stream.write(doing)
        last = doing

    return progress
