"""Decisions and deferrals that people made later, and why."""

from inspections.demo.people import ENGINEER, MANAGER, STATION_MANAGER
from inspections.demo.sheets import SITE, STATION

Row = dict[str, object]

DECISIONS: list[Row] = [
    {
        "tag": "PSV-2103",
        "activity": "bench_test",
        "from_on": "2025-02-03",
        "interval": "P3Y",
        "reason": "Two valves of this duty opened high in 2024; test again before the next cycle"
        " ends.",
        "evidence": "Esterification 2024 overhaul reports",
        "decided_by": ENGINEER,
    },
    {
        "tag": "PSV-3403",
        "activity": "bench_test",
        "from_on": "2024-08-12",
        "interval": "P30M",
        "reason": "As-received test waived in 2024: inlet packed with polymer. Shortened from five"
        " years.",
        "evidence": "Hydrogenation 2024 overhaul report of RD-1275",
        "decided_by": ENGINEER,
    },
    {
        "tag": "PSV-1901",
        "activity": "bench_test",
        "from_on": "2022-09-01",
        "interval": "P6Y",
        "reason": "Three tests of this service inside 1 %.",
        "evidence": "Distillation 2019 and 2022 overhaul reports",
        "decided_by": ENGINEER,
    },
    {
        "tag": "PSV-2801",
        "activity": "bench_test",
        "from_on": "2025-11-03",
        "interval": "P7Y",
        "reason": "Behind a disc and found clean in 2024; assessed by risk, within the rule's ten"
        " years.",
        "evidence": "RA-2025-044",
        "decided_by": ENGINEER,
    },
]

DEFERRALS: list[Row] = [
    {
        "tag": "PSV-4302",
        "activity": "bench_test",
        "due_on": "2026-03-09",
        "until_on": "2027-03-21",
        "policy": "assessed",
        "reason": "Missed in the 2024 outage; pump P-4302 cannot be isolated before Tank farm"
        " 2027.",
        "interim_measure": "Pump run only with its discharge recycle open; weekly check.",
        "document": "RA-2026-011",
        "approved_by": MANAGER,
        "approved_on": "2026-02-16",
    },
    {
        "tag": "PSV-8203",
        "activity": "bench_test",
        "due_on": "2024-08-10",
        "until_on": "2025-08-24",
        "policy": "assessed",
        "reason": "Left out of Biogas 2022; found when the list was compared with the drawings.",
        "interim_measure": "Compressor K-8203 on standby duty only.",
        "document": "RA-2024-031",
        "approved_by": MANAGER,
        "approved_on": "2024-09-19",
    },
    {
        "tag": "PSV-5902",
        "activity": "bench_test",
        "due_on": "2026-09-20",
        "until_on": "2027-01-07",
        "policy": "simple",
        "reason": "The calorifier carries the winter load until its twin is back.",
        "approved_by": ENGINEER,
        "approved_on": "2026-09-08",
    },
    {
        "tag": "PSV-5903",
        "activity": "bench_test",
        "due_on": "2026-08-30",
        "until_on": "2027-02-26",
        "policy": "single_postponement",
        "reason": "Examined together with the shell in February.",
        "document": "Agreement of 4 August 2026",
        "notified_on": "2026-08-12",
        "approved_by": MANAGER,
        "approved_on": "2026-08-10",
    },
    {
        "tag": "PSV-5904",
        "activity": "bench_test",
        "due_on": "2026-04-12",
        "until_on": "2026-07-30",
        "policy": "simple",
        "reason": "Isolating valve passing; new one on order.",
        "approved_by": ENGINEER,
        "approved_on": "2026-04-02",
    },
    {
        "site": STATION,
        "tag": "RV-201",
        "activity": "lever",
        "due_on": "2026-10-20",
        "until_on": "2026-11-12",
        "policy": "test_period",
        "reason": "Auxiliary steam is isolated until the refuelling outage ends.",
        "approved_by": STATION_MANAGER,
        "approved_on": "2026-10-14",
    },
]


def at_site(rows: list[Row]) -> list[Row]:
    return [{"site": SITE, **row} for row in rows]
