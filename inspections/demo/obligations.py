"""What each position owes, under which rule, and the interval decisions that go with it."""

from dataclasses import dataclass

from inspections.demo import plan
from inspections.demo.people import ENGINEER
from inspections.demo.plant import COMMISSIONED, POSITIONS, Group, Position

Row = dict[str, object]


@dataclass(frozen=True)
class Owes:
    activity: str
    rule: str
    counts_from: str = ""
    shelf_limit: str = ""
    interval: str = ""  # decided, for by-history
    season: str = ""
    group: str = ""
    from_on: str = ""
    until_on: str = ""


ROTATED = Owes("bench_test", "api510-process", "installed_on", "P4Y")
PLAIN = Owes("bench_test", "api510-process")
LOOK = Owes("visual", "api510-process", "commissioned_on")

BY_PROGRAMME = {
    "outage": (ROTATED,),
    "pilot": (Owes("bench_test", "by-history", "installed_on", "P4Y", "P5Y"),),
    "disc": (Owes("disc_change", "api510-process"),),
    "boiler": (Owes("bench_test", "nbic-boiler-low"), Owes("lever", "nbic-boiler-low-lever")),
    "highboiler": (Owes("in_place_test", "nbic-boiler-high"),),
    "header": (Owes("in_place_test", "nbic-steam"),),
    "air": (Owes("bench_test", "nbic-air", "installed_on", "P3Y"),),
    "gas": (
        Owes("in_place_test", "us-49cfr192.739"),
        Owes("capacity_review", "us-49cfr192.743"),
    ),
    "onstream": (Owes("bench_test", "api510-process", "installed_on", "P5Y"),),
    "clean": (Owes("bench_test", "api510-clean", "installed_on", "P7Y"),),
    "changeover": (Owes("bench_test", "by-history", "installed_on", "P4Y", "P5Y"),),
    "vent": (Owes("visual", "by-history", "commissioned_on", interval="P1Y"),),
}
RELEASE = "us-40cfr63.165"
WATER_TUBE = (Owes("bench_test", "us-46cfr61-watertube"), Owes("lever", "PG-easing-gear"))
SERVICE_DAYS = (Owes("in_place_test", "us-49cfr230.50"),)
BY_TAGS = {  # of the groups that live by their diary
    "SV-58": (
        Owes("in_place_test", "nbic-heating", season="10-01"),
        Owes("lever", "nbic-heating-lever"),
    ),
    "PSV-59": (
        Owes("bench_test", "VS-7", until_on="2024-01-01"),
        Owes("bench_test", "VS-7/2", from_on="2024-01-01"),
    ),
    "PSV-50": (Owes("in_place_test", "VS-21"),),
    "PSV-45": (Owes("bench_test", "VS-33"),),
    "PSE-28": (Owes("disc_change", "api510-process"), Owes("disc_change", RELEASE)),
    "PSV-28": (Owes("bench_test", "api510-process"), Owes("visual", RELEASE)),
    "PSV-64": (
        Owes("in_place_test", "us-49cfr192.739"),
        Owes("capacity_review", "us-49cfr192.743"),
    ),
    "PLT-64": (Owes("in_place_test", "us-49cfr192.739"),),
    "PSV-85": (Owes("bench_test", "api510-process"),),
    "PSV-91": (Owes("bench_test", "us-49cfr180.605-60"),),
    "SV-951": SERVICE_DAYS,
    "SV-952": SERVICE_DAYS,
    "PSV-96": (Owes("bench_test", "us-33cfr156.170", season="04-01"),),
    "BSV-101": WATER_TUBE,
    "BSV-102": WATER_TUBE,
    "BSV-103": WATER_TUBE,
    "MSV-1": (Owes("in_place_test", "om-class1", group="Main steam safety valves"),),
    "RV-2": (Owes("lever", "DP-quarterly", from_on="2026-01-01"),),
}
LEVER = Owes("lever", "nbic-boiler-low-lever")
STRIPPED = Owes("overhaul", "by-history", "commissioned_on", interval="P7Y")


def is_looked_at(group: Group) -> bool:
    """Are its positions walked round on stream?"""
    programmes = ("outage", "pilot", "clean", "onstream")
    return group.programme in programmes and group.unit != "Steam and Air"


def owed_by(position: Position) -> tuple[Owes, ...]:
    if position.tag in plan.OWES_NOTHING:
        return ()
    group = position.group
    owed = BY_TAGS.get(group.tags) or BY_PROGRAMME[group.programme]
    if group.unit == "Esterification" and group.programme == "outage":
        owed = (PLAIN,)
    if is_looked_at(group):
        owed = (*owed, LOOK)
    if group.unit == "Hydrogenation" and group.severity == "severe":
        owed = (*owed, STRIPPED)
    if group.programme == "header" and group.model == "BV-900":
        owed = (*owed, LEVER)
    return owed


def obligation_rows() -> list[Row]:
    return [
        {
            "site": position.site,
            "tag": position.tag,
            "activity": owes.activity,
            "rule": owes.rule,
            "counts_from": owes.counts_from,
            "shelf_limit": owes.shelf_limit,
            "season": owes.season,
            "group": owes.group,
            "from_on": owes.from_on,
            "until_on": owes.until_on,
        }
        for position in POSITIONS
        for owes in owed_by(position)
    ]


def decision_rows() -> list[Row]:
    """The intervals that by-history obligations began with, decided at commissioning."""
    return [
        {
            "site": position.site,
            "tag": position.tag,
            "activity": owes.activity,
            "from_on": COMMISSIONED[position.unit],
            "interval": owes.interval,
            "reason": f"First interval for {position.group.fluid}, {position.group.severity}"
            " service; to be reviewed after two tests.",
            "decided_by": ENGINEER,
        }
        for position in POSITIONS
        for owes in owed_by(position)
        if owes.interval and position.tag not in plan.WITHOUT_A_DECISION
    ]
