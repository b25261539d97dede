"""Stories that change what happened last, or only what a record says of it."""

from datetime import date
from decimal import Decimal

from inspections.demo.devices import new_device
from inspections.demo.plant import AS_OF, GROUPS, POSITIONS, Position
from inspections.demo.pops import as_pressure
from inspections.demo.world import Record, World


def position(tag: str) -> Position:
    return next(p for p in POSITIONS if p.tag == tag)


def overhaul(world: World, tag: str, year: int) -> Record:
    """The overhaul of what came out of a position in a year."""
    found = (r for r in world.records if (r.tag, r.activity) == (tag, "overhaul"))
    return next(r for r in found if r.done_on.year == year)


def twist(world: World) -> None:
    for change in (
        lost_sheet, sticking, machined, typed_percentage, fouled, wrong_tag, gauge_overdue,
        unverified, stuck_shut, settings_forgotten, scrapped, no_device, no_record, line_removed,
        shelf_lives, other_words, too_many_turns,
    ):  # fmt: skip
        change(world)


def lost_sheet(world: World) -> None:
    record = overhaul(world, "PSV-2206", 2020)
    for row in record.settings:
        row["value"] = ""
        row["missing_reason"] = "Bench sheet lost when the shop moved in November 2020."
    record.fields |= {"done_by": "not recorded", "remarks": "Pressures from the certificate."}


def sticking(world: World) -> None:
    """First pop far high, the next two near the set, nothing turned in between."""
    record = overhaul(world, "PSV-1406", 2025)
    group = record.device.group
    second = record.fields["first_pop"]
    record.fields |= {
        "first_pop": as_pressure(group, 760),
        "later_pops": f"{second}; {as_pressure(group, 20)}",
        "remarks": "Opened with a bang the first time only.",
    }
    record.find("guide", "sticky deposits", action="cleaned")


def machined(world: World) -> None:
    record = overhaul(world, "SV-5113", 2021)
    record.find(
        "nozzle", "seat wire-drawn", action="seat machined", measure="depth", value="0.4 mm"
    )


def typed_percentage(world: World) -> None:
    overhaul(world, "TRV-1002", 2023).fields["typed_deviation"] = "-1.4 %"


def fouled(world: World) -> None:
    record = overhaul(world, "PSV-3403", 2024)
    record.fields |= {
        "first_pop": "",
        "first_pop_result": "",
        "later_pops": "",
        "waived_reason": "Inlet and disc packed with polymer: not safe to pop as received.",
    }
    record.find("inlet", "packed with polymer", action="cleaned out")
    record.find("disc", "polymer on seat", action="replaced")


def wrong_tag(world: World) -> None:
    """RD-1045 came out of PSV-1404; its sheet says PSV-1408, where it has never been."""
    overhaul(world, "PSV-1404", 2025).tag = "PSV-1408"


def gauge_overdue(world: World) -> None:
    overhaul(world, "PSV-2603", 2024).fields["gauge_due_on"] = date(2024, 8, 20)


def unverified(world: World) -> None:
    last = max(
        (r for r in world.records if r.activity == "overhaul"),
        key=lambda r: (r.done_on, r.device.number),
    )
    last.fields |= {"verified_by": "", "signed_on": ""}


def stuck_shut(world: World) -> None:
    record = overhaul(world, "PSV-3204", 2021)
    limit = record.device.group.set * Decimal("1.5")
    record.fields |= {
        "first_pop": "",
        "first_pop_result": "no_lift",
        "later_pops": "",
        "no_lift_at": record.device.group.pressure(limit.normalize()),
    }
    record.find("disc", "seized in guide by corrosion", action="disc and guide replaced")


def settings_forgotten(world: World) -> None:
    """Rings as left were never written down, and nobody said why."""
    record = overhaul(world, "PSV-1203", 2022)
    record.settings = [row for row in record.settings if row["stage"] == "as_found"]


def scrapped(world: World) -> None:
    record = overhaul(world, "PSV-2402", 2024)
    record.fields |= {"disposition": "scrapped", "as_left_pop": "", "reseat": "", "leak_rate": ""}
    record.fields["seal_left"] = ""
    record.settings = [row for row in record.settings if row["stage"] == "as_found"]
    record.findings.clear()
    record.find("nozzle", "cracked through", action="device scrapped")
    record.device.status = "scrapped"


def no_device(world: World) -> None:
    out = world.pull(position("PSV-5604"), date(2026, 10, 20))
    out.status, out.note = "in_shop", "Lever bracket bent by scaffolding; no spare was ready."


def no_record(world: World) -> None:
    """A loaned valve of the same make, fitted before its papers came."""
    place = position("PSV-5505")
    loan = new_device(1900, place.group, date(2026, 9, 28))
    loan.note = "On loan; the maker's certificate has not arrived."
    world.devices.append(loan)
    out = world.swap(place, loan, date(2026, 10, 6))
    out.status = "quarantined"
    out.note = "Dropped on the stairs on the way down."
    world.spell_at(place.tag).override_reason = "No test record: certificate to follow."


def line_removed(world: World) -> None:
    gone_on = date(2023, 5, 15)
    world.pull(position("TRV-1008"), gone_on)
    world.records = [r for r in world.records if r.tag != "TRV-1008" or r.done_on < gone_on]


def shelf_lives(world: World) -> None:
    """Soft seats keep five years on the shelf; RD-1461's ended in June 2026."""
    for group in GROUPS:
        if group.model == "ST-2" and group.phase == "gas":
            for device in world.spares(group):
                last = device.ready_on
                device.shelf_expires_on = date(max(last.year + 5, AS_OF.year + 1), last.month, 28)
                if device.number == "RD-1461":
                    device.shelf_expires_on = date(2026, 6, 30)


def other_words(world: World) -> None:
    """One mechanic writes the model's other names for its ring."""
    for record in world.records:
        mine = record.fields["done_by"] == "Ruben Staal" and record.done_on.year == 2019
        for row in record.settings if mine else ():
            if row["setting"] == "single_ring" and record.device.group.model == "ST-2":
                row["setting"] = "adjusting ring"


def too_many_turns(world: World) -> None:
    """Six turns more than the pressure can explain: a figure misread when it was typed."""
    row = overhaul(world, "PSV-3105", 2024).setting("compression_screw", "as_left")
    turns, rest = str(row["value"]).split(" ", 1)
    row["value"] = f"{int(turns) + 6} {rest}"


def correct(world: World) -> None:
    """After numbering: a first pop typed with its figures changed round, and its correction."""
    wrong = overhaul(world, "PSV-3803", 2022)
    right = Record(
        wrong.device, wrong.activity, wrong.done_on, wrong.tag, dict(wrong.fields),
        [dict(row) for row in wrong.settings], [dict(row) for row in wrong.findings],
        f"{wrong.ref}-C1",
    )  # fmt: skip
    right.fields |= {
        "corrects": wrong.ref,
        "remarks": "First pop was typed with its figures changed round; read again from the chart.",
    }
    wrong.fields["first_pop"] = "156 psig"
    world.records.append(right)
