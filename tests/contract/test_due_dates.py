"""Dates of the law, from a workbook to `due_list --as-of`."""

import pytest

PLACE = """
    site | tag | unit | set_pressure
    Northmere | PSV-1 | Stills | 150 psig
"""
DEVICE = """
    device | serial | kind
    D-1 | 00123 | spring
"""
FITTED = """
    tag | device | installed_on
    PSV-1 | D-1 | 1999-01-01
"""


def owed(rule, activity="bench_test", **columns):
    names, cells = " | ".join(columns), " | ".join(columns.values())
    return f"tag | activity | rule | {names}\nPSV-1 | {activity} | {rule} | {cells}"


def done(*days, activity="bench_test"):
    lines = ["ref | device | activity | done_on | done_by | verified_by | first_pop | as_left_pop"
             " | disposition"]  # fmt: skip
    for number, day in enumerate(days, 1):
        lines.append(f"I-{number} | D-1 | {activity} | {day} | Ann Lowe | Bo Marsh | 150 psig"
                     " | 150 psig | reinstalled")  # fmt: skip
    return "\n".join(lines)


WORKED = [
    # 49 CFR 192.739(a): "intervals not exceeding 15 months, but at least once each calendar year"
    ("us-49cfr192.739", ["2023-03-10"], "2024-06-10", "15 months"),
    ("us-49cfr192.739", ["2024-09-30"], "2025-12-30", "15 months"),
    ("us-49cfr192.739", ["2024-10-01"], "2025-12-31", "calendar year"),
    # 49 CFR 192.740(b): "at least once every 3 calendar years, not exceeding 39 months"
    ("us-49cfr192.740", ["2021-06-30"], "2024-09-30", "39 months"),
    ("us-49cfr192.740", ["2022-11-15"], "2025-12-31", "third calendar year"),
    # 30 CFR 250.804(a)(3), 2015 edition: monthly, at most six weeks apart
    ("us-30cfr250-month", ["2024-01-31"], "2024-02-29", "calendar month"),
    # 49 CFR 195.428(a), highly volatile liquids: twice each calendar year, at most 7 1/2 months
    ("us-49cfr195.428-hvl", ["2024-01-10", "2024-07-10"], "2025-02-25", "7 1/2 months"),
    ("us-49cfr195.428-hvl", ["2024-07-10"], "2024-12-31", "twice a year"),
    # 30 CFR 250.804(a)(2), 2015 edition: 12 months; month ends clamp (ISO 8601 calendar months)
    ("us-30cfr250-psv", ["2024-02-29"], "2025-02-28", "12 months"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "days", "due_on", "binds"), WORKED)
def test_a_worked_date_of_the_law(plant, rule, days, due_on, binds):
    plant.must(positions=PLACE, devices=DEVICE, installations=FITTED,
               obligations=owed(rule), inspections=done(*days))  # fmt: skip
    row = plant.due_of("PSV-1", days[-1])
    assert (row["due_on"], row["last_done_on"]) == (due_on, days[-1])
    assert row["status"] in ("compliant", "due_soon") and row["reason"]
    assert plant.due_of("PSV-1", due_on)["status"] == "due_soon"
