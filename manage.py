#!/usr/bin/env python3
"""Django's command line for Relief Fleet."""

import os
import sys

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")
    if sys.argv[1:2] == ["demo"]:
        # The demo needs no environment at all; everything else must be told.
        os.environ.setdefault("DEBUG", "1")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)
