"""Where the history was made to differ: what was skipped, stopped, and which devices misbehave.

stories.py tells these as stories; twists.py adds those that only change what a record says.
"""

from datetime import date

# (position, outage) where the position was left out.
SKIPPED = {("PSV-4302", "Tank farm 2024"), ("PSV-8203", "Biogas 2022")}

# No work on a position of these programmes from a day on.
STOPPED = {"SV-5306": date(2026, 3, 1), "SV-5405": date(2026, 8, 1)}

# Springs that lose a little more each year: device -> first year.
WEAKENING = {"RD-1387": 2016}

# Rings somebody moves on every visit: device -> who.
RESTLESS = {"RD-1384": "Tobias Okell"}

# Seats machined, so that the rings are counted from elsewhere: (device, year) -> the new words.
MACHINED = {("RD-1385", 2021): "after seat machined 0.4 mm, July 2021"}

# A change of supplier's springs, or of product: (tags of the group, year) -> 0.01 % of pop.
COMMON_CAUSE = {("PSV-15", 2025): -450}

# Cells of the positions sheet that say something questionable.
POSITION_CELLS = {
    ("PSV-1207", "equipment_mawp"): "105 psig",
    ("PSV-1305", "cold_test_pressure"): "75 psig",
    ("PSV-5702", "set_pressure"): "60 psi",
    ("TRV-1008", "status"): "removed",
    ("TRV-1008", "note"): "Line to cooler E-1210 taken out in May 2023.",
    ("PSV-5703", "note"): "Added to the hot water loop by the heating contractor.",
}

# When a tank entered service, by which its interval goes; None: its plate is gone, nobody knows.
ENTERED = {
    "PSV-9101": date(2012, 5, 14),
    "PSV-9102": date(2019, 9, 2),
    "PSV-9103": date(2024, 3, 11),
    "PSV-9104": None,
}
BOUGHT_ON = {"PSV-9104": date(2018, 6, 4)}

OWES_NOTHING = {"PSV-5703"}
WITHOUT_A_DECISION = {"PSV-3604"}


def is_stopped(tag: str, on: date) -> bool:
    return tag in STOPPED and on >= STOPPED[tag]
