"""Where the history was made to differ: what was skipped, stopped, and which devices misbehave.

stories.py tells these as stories; twists.py adds those that only change what a record says.
"""

from datetime import date

# (position, outage) where the position was left out.
SKIPPED = {("PSV-4302", "Tank farm 2024")}

# No work on a position of these programmes from a day on.
STOPPED = {"SV-5306": date(2026, 1, 1), "SV-5405": date(2026, 8, 1)}

# Springs that lose a little more each year: device -> first year.
WEAKENING = {"RD-1387": 2016}

# Rings somebody moves on every visit: device -> who.
RESTLESS = {"RD-1384": "Tobias Okell"}

# Seats machined, so that the rings are counted from elsewhere: (device, year) -> the new words.
MACHINED = {("RD-1385", 2021): "after seat machined 0.4 mm, July 2021"}


def is_stopped(tag: str, on: date) -> bool:
    return tag in STOPPED and on >= STOPPED[tag]
