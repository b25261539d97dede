#!/usr/bin/env python3
"""Django's command line for Relief Fleet."""

import os
import sys
from pathlib import Path

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")
    if sys.argv[1:2] == ["demo"]:
        # The demo needs no environment at all, and keeps to a database of its own.
        here = Path(__file__).resolve().parent
        os.environ.setdefault("DEBUG", "1")
        os.environ.setdefault("DATABASE_URL", f"sqlite:///{here / 'demo.sqlite3'}")
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
        sys.stdout.flush()
    except BrokenPipeError:  # the reader of a pipe had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
