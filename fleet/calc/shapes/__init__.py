"""The interval rules, one file for each family. `fleet/calc/intervals.py` is the way in."""
