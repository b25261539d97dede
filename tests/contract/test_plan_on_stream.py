"""Work on stream leaves every duty its capacity: workbooks in, `plan_outages` out.

The rule is 49 CFR 192.743 and API Std 520, Part I: what stays in service is rated for at least what
is required. It is added up again here from the sheets, week by week; a standby counts once.
"""

from collections import Counter, defaultdict

import pytest

from tests.contract.test_plan_outages import planned

DUE = "2027-03-01"


def stocked(plant, kind, roles, rated, required, isolation="block_with_spare"):
    """Positions T-n arranged in these roles, all due on one day; required: kg/h at T-0 alone."""
    tags = [f"T-{n}" for n in range(len(rated))]
    needs = [required, *[""] * (len(rated) - 1)]
    plant.must(
        positions="site | tag | unit | set_pressure | tolerance | isolation | required_capacity\n"
        + "\n".join(
            f"Northmere | {tag} | Stills | 150 psig | asme8 | {isolation} | {need}"
            for tag, need in zip(tags, needs, strict=True)
        ),
        devices="device | kind | rated_capacity\n"
        + "\n".join(f"D-{n} | spring | {one}" for n, one in enumerate(rated)),
        installations="tag | device | installed_on\n"
        + "\n".join(f"{tag} | D-{n} | 2018-01-01" for n, tag in enumerate(tags)),
        arrangements="arrangement | kind | tag | role\n"
        + "\n".join(
            f"V-1 | {kind} | {tag} | {role}" for tag, role in zip(tags, roles.split(), strict=True)
        ),
        obligations="tag | activity | rule\n"
        + "\n".join(f"{tag} | bench_test | api510-process" for tag in tags),
        inspections="ref | device | activity | done_on | done_by | verified_by | first_pop |"
        " as_left_pop\n"
        + "\n".join(
            f"I-{n} | D-{n} | bench_test | 2022-03-01 | Ann | Bo | 150 psig | 150 psig"
            for n in range(len(rated))
        ),
        job_hours="activity | kind | hours\nbench_test | | 4",
    )
    rows, _ = planned()
    return [rows[tag] for tag in tags]


def statuses(rows):
    return [row["status"] for row in rows]


def kg(text):
    return int(text.split()[0])


def test_one_of_a_changeover_at_a_time(plant):
    rated = ["12000 kg/h", "11000 kg/h"]
    rows = stocked(plant, "changeover", "duty standby", rated, "10000 kg/h", "changeover")
    assert statuses(rows) == ["online", "online"]
    assert rows[0]["planned_on"] != rows[1]["planned_on"]


def test_a_standby_too_small_for_the_duty_never_stands_in(plant):
    rated = ["12000 kg/h", "9999 kg/h"]
    rows = stocked(plant, "changeover", "duty standby", rated, "10000 kg/h", "changeover")
    assert statuses(rows) == ["no_opportunity", "online"]
    assert "9999 kg/h, is less than the required 10000 kg/h" in rows[0]["reason"]


@pytest.mark.parametrize(
    ("rated", "required"),
    [
        (["6000 kg/h"] * 3, "10000 kg/h"),
        (["6000 kg/h"] * 4, "10000 kg/h"),
        (["9000 kg/h", "4000 kg/h", "5000 kg/h", "7000 kg/h"], "16000 kg/h"),
        (["6000 kg/h"] * 2, "10000 kg/h"),
    ],
)
def test_what_stays_of_several_passes_what_is_required_in_every_week(plant, rated, required):
    roles = " ".join(["duty", *["additional"] * (len(rated) - 1)])
    rows = stocked(plant, "multiple", roles, rated, required)
    total, need = sum(map(kg, rated)), kg(required)
    out = defaultdict(int)
    for row, one in zip(rows, rated, strict=True):
        could = total - kg(one) >= need
        assert row["status"] == ("online" if could else "no_opportunity")
        if could:
            out[row["planned_on"]] += kg(one)
    assert all(total - taken >= need for taken in out.values())


def test_as_many_go_together_as_the_duty_can_spare(plant):
    rows = stocked(
        plant, "multiple", "duty additional additional additional", ["6000 kg/h"] * 4, "10000 kg/h"
    )
    assert sorted(Counter(row["planned_on"] for row in rows).values()) == [2, 2]


@pytest.mark.parametrize("other", ["90000 scfm", "90000 gpm"])
def test_unlike_flows_are_never_added_up(plant, other):
    rows = stocked(plant, "multiple", "duty additional", ["12000 kg/h", other], "10000 kg/h")
    assert statuses(rows) == ["no_opportunity", "online"]  # T-0 alone still passes what is required
    assert "never added or compared" in rows[0]["reason"]


def test_no_reason_is_worded_as_permission(plant):
    rated = ["12000 kg/h", "11000 kg/h"]
    for row in stocked(plant, "changeover", "duty standby", rated, "10000 kg/h", "changeover"):
        said = set(row["reason"].casefold().replace(",", " ").split())
        assert not said & {"allowed", "permitted", "safe", "may", "ok"}
