"""Random plants, told in random order over several loads, against a reader of the sheets.

The reader goes day by day and knows no spans: on a day, what stands at the tag, and what of its
records counts by then. The workbook's own contract.
"""

import random
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta

from tests.contract.plant import run

TAGS, DEVICES, SINCE = ("A", "B", "C"), ("D1", "D2", "D3", "D4"), date(2010, 1, 1)
COUNTS = {"reinstalled", "repaired"}
SHEETS = {
    "installations": "tag | device | installed_on | removed_on",
    "inspections": "ref | tag | device | activity | done_on | done_by | verified_by | as_left_pop |"
    " disposition",
}


def facts(dice: random.Random) -> tuple[list, list]:
    """Spells (tag, device, from, to) that do not overlap, and records (device, what, day, how)."""
    spells, free_tag, free_device = [], dict.fromkeys(TAGS, SINCE), dict.fromkeys(DEVICES, SINCE)
    for _ in range(14):
        tag, device = dice.choice(TAGS), dice.choice(DEVICES)
        start = max(free_tag[tag], free_device[device]) + timedelta(dice.choice([0, 0, 40, 400]))
        end = start + timedelta(dice.randint(1, 1200))
        if end < date(2026, 1, 1):
            spells.append((tag, device, start, end))
            free_tag[tag] = free_device[device] = end
    records = [
        (
            dice.choice(DEVICES),
            dice.choice(["overhaul", "bench_test", "in_place_test"]),
            SINCE + timedelta(dice.randint(-300, 5800)),
            dice.choice(["reinstalled", "repaired", "repaired", "scrapped", "returned_untested"]),
        )
        for _ in range(20)
    ]
    return spells, records


def read(spells: list, records: list, tag: str, day: date) -> tuple:
    """(status, device, last, due) of a five-year bench test, straight from the sheets."""
    device = next((d for t, d, a, b in spells if t == tag and a <= day < b), None)
    if device is None:
        return ("no_device", None, None, None)
    days = [
        on
        for d, what, on, how in records
        if d == device and what in ("overhaul", "bench_test") and on <= day and how in COUNTS
    ]
    if not days:
        return ("no_record", device, None, None)
    due = max(days) + relativedelta(years=5)
    status = "overdue" if due < day else "due_soon" if (due - day).days <= 90 else "compliant"
    return (status, device, max(days).isoformat(), due.isoformat())


@pytest.mark.parametrize("seed", range(6))
def test_every_day_answers_what_the_sheets_say(plant, seed):
    dice = random.Random(seed)
    spells, records = facts(dice)
    rows = [("installations", f"{t} | {d} | {a} | {b}") for t, d, a, b in spells]
    rows += [
        ("inspections", f"I-{n} | {dice.choice(TAGS)} | {d} | {what} | {on} | Ann | Bo | 150 psig"
         f" | {how}")
        for n, (d, what, on, how) in enumerate(records)
    ]  # fmt: skip
    dice.shuffle(rows)
    plant.must(
        positions="site | tag | unit | set_pressure\n"
        + "\n".join(f"N | {tag} | U | 150 psig" for tag in TAGS),
        devices="device | kind\n" + "\n".join(f"{device} | spring" for device in DEVICES),
        obligations="tag | activity | rule\n"
        + "\n".join(f"{tag} | bench_test | api510-process" for tag in TAGS),
    )
    for start in range(0, len(rows), 10):
        part = rows[start : start + 10]
        sheets = {
            name: [heads, *(r for n, r in part if n == name)] for name, heads in SHEETS.items()
        }
        plant.must(**{name: "\n".join(lines) for name, lines in sheets.items()})
    assert "0 differences" in run("check_due_dates").out
    edges = {edge for spell in spells for edge in spell[2:]} | {on for _, _, on, _ in records}
    days = [day + timedelta(step) for day in edges for step in (-1, 0) if day > SINCE]
    for day in dice.sample(sorted(days), 12):
        found = {
            row["tag"]: (row["status"], row["device"], row["last_done_on"], row["due_on"])
            for row in plant.due(day.isoformat())
        }
        assert found == {tag: read(spells, records, tag, day) for tag in TAGS}, day
