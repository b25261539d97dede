"""When units stand still, and how long a job takes."""

from dataclasses import dataclass
from datetime import date

from inspections.demo.plant import AS_OF
from inspections.demo.sheets import SHIP, SITE, STATION


@dataclass(frozen=True)
class Outage:
    name: str
    units: tuple[str, ...]
    starts_on: date
    ends_on: date
    bench_hours: int
    freeze_on: date | None = None
    site: str = SITE

    @property
    def status(self) -> str:
        if self.ends_on < AS_OF:
            return "done"
        return "planned" if self.starts_on > AS_OF else "under_way"

    @property
    def is_done(self) -> bool:
        return self.status == "done"


def _outage(
    name: str,
    units: str,
    starts: str,
    ends: str,
    hours: int,
    freeze: str = "",
    site: str = SITE,
) -> Outage:
    return Outage(
        name,
        tuple(units.split(";")),
        date.fromisoformat(starts),
        date.fromisoformat(ends),
        hours,
        date.fromisoformat(freeze) if freeze else None,
        site,
    )


_BOILERS = [
    _outage(f"Boiler house {year}", "Steam and Air", f"{year}-07-03", f"{year}-07-21", 160)
    for year in range(2016, 2027)
]

_DOCKINGS = [
    _outage(f"Docking {starts[:4]}", "Engine Room", starts, ends, 160, site=SHIP)
    for starts, ends in (
        ("2019-05-06", "2019-05-26"), ("2021-11-05", "2021-11-26"), ("2024-05-03", "2024-05-20"),
        ("2026-11-04", "2026-11-24"), ("2029-04-09", "2029-04-29"),
    )
]  # fmt: skip
_REFUELLINGS = [
    _outage(f"Refuelling {number}", "Unit 1", starts, ends, 240, site=STATION)
    for number, (starts, ends) in enumerate(
        (
            ("2019-04-05", "2019-05-07"), ("2020-10-02", "2020-11-03"),
            ("2022-04-08", "2022-05-10"), ("2023-10-06", "2023-11-05"),
            ("2025-04-04", "2025-05-06"), ("2026-10-05", "2026-11-07"),
            ("2028-04-07", "2028-05-09"),
        ),
        start=1,
    )
]  # fmt: skip

OUTAGES = (
    *_BOILERS,
    _outage("Tank farm 2018", "Tank Farm", "2018-03-05", "2018-03-25", 120),
    _outage("Distillation 2019", "Distillation", "2019-04-01", "2019-04-28", 520),
    _outage("Biogas 2019", "Biogas", "2019-08-05", "2019-08-25", 120),
    _outage("Esterification 2020", "Esterification", "2020-09-07", "2020-10-11", 560),
    _outage("Tank farm 2021", "Tank Farm", "2021-03-01", "2021-03-21", 120),
    _outage("Hydrogenation 2021", "Hydrogenation", "2021-06-07", "2021-07-04", 480),
    _outage("Distillation 2022", "Distillation", "2022-04-04", "2022-05-01", 520),
    _outage("Biogas 2022", "Biogas", "2022-08-01", "2022-08-21", 120),
    _outage("Tank farm 2024", "Tank Farm", "2024-03-04", "2024-03-24", 120),
    _outage("Hydrogenation 2024", "Hydrogenation", "2024-06-03", "2024-06-30", 480),
    _outage("Esterification 2024", "Esterification", "2024-09-02", "2024-10-06", 560),
    _outage("Distillation 2025", "Distillation", "2025-03-31", "2025-04-27", 520),
    _outage("Biogas 2025", "Biogas", "2025-08-04", "2025-08-24", 120),
    _outage("Jetty 2027", "Jetty", "2027-02-01", "2027-02-20", 40),
    _outage("Tank farm 2027", "Tank Farm", "2027-03-01", "2027-03-21", 140, "2026-12-01"),
    _outage("Tank yard 2027", "Tank Yard", "2027-04-12", "2027-04-24", 40),
    _outage("Hydrogenation 2027", "Hydrogenation", "2027-06-07", "2027-07-04", 500, "2027-02-01"),
    _outage("Boiler house 2027", "Steam and Air", "2027-07-05", "2027-07-23", 180, "2027-05-03"),
    _outage(
        "Spring turnaround 2028",
        "Distillation;Refrigeration",
        "2028-04-03",
        "2028-05-02",
        620,
        "2027-12-01",
    ),
    _outage("Boiler house 2028", "Steam and Air", "2028-07-03", "2028-07-21", 180),
    _outage("Biogas 2028", "Biogas", "2028-08-07", "2028-08-27", 120),
    _outage("Esterification 2028", "Esterification", "2028-09-04", "2028-10-08", 580),
    *_DOCKINGS,
    *_REFUELLINGS,
)

JOB_HOURS = (
    ("bench_test", "", "4"),
    ("bench_test", "pilot", "7"),
    ("bench_test", "bellows", "5.5"),
    ("overhaul", "", "9"),
    ("overhaul", "pilot", "14"),
    ("overhaul", "bellows", "12"),
    ("in_place_test", "", "3"),
    ("lever", "", "0.5"),
    ("visual", "", "0.5"),
    ("disc_change", "", "4"),
    ("capacity_review", "", "2"),
    ("replacement", "", "3"),
)


def of_unit(unit: str) -> list[Outage]:
    return [outage for outage in OUTAGES if unit in outage.units]


def outage_rows() -> list[dict[str, object]]:
    return [
        {
            "site": outage.site,
            "name": outage.name,
            "units": "; ".join(outage.units),
            "starts_on": outage.starts_on,
            "ends_on": outage.ends_on,
            "freeze_on": outage.freeze_on,
            "bench_hours": outage.bench_hours,
            "status": outage.status,
        }
        for outage in OUTAGES
    ]


def job_hours_rows() -> list[dict[str, object]]:
    return [
        {"activity": activity, "kind": kind, "hours": hours} for activity, kind, hours in JOB_HOURS
    ]
