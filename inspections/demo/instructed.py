"""What the engineer has said of settings by the demo's last day: threads, and one instruction."""

from datetime import date, datetime

from fleet.calc.units import LENGTH, NOTCHES, parse_quantity
from fleet.models import Device, User
from inspections.actions.instructions import instruct
from inspections.actions.points import set_up
from inspections.demo.people import ENGINEER
from inspections.models import Instruction, SettingPoint

DEVICE, SETTING, VALUE = "RD-1146", "upper_ring", "-16 notches"
FROM_ON = date(2026, 9, 14)
SOURCE = "Quillmere letter of 2 September 2026, invented for this demonstration"
REASON = "Chattered on the last release: blowdown was too short."
RING_LEAD, SCREW_LEAD, NOTCHES_PER_TURN = "1/16 in", "1/8 in", 32


def say_settings(*, at: datetime) -> None:
    engineer = User.objects.get(name=ENGINEER)
    for point in SettingPoint.objects.exclude(measure=LENGTH).order_by("pk"):
        is_ring = point.measure == NOTCHES
        point.lead = parse_quantity(RING_LEAD if is_ring else SCREW_LEAD, (LENGTH,))
        point.notches_per_turn = NOTCHES_PER_TURN if is_ring else None
        set_up(point, by=engineer, at=at)
    datum = SettingPoint.objects.get(model__devices__number=DEVICE, setting=SETTING).datum
    row = Instruction(
        device=Device.objects.get(number=DEVICE),
        setting=SETTING,
        value=parse_quantity(VALUE, (NOTCHES,)),
        datum=datum,
        from_on=FROM_ON,
        source=SOURCE,
        reason=REASON,
    )
    instruct(row, by=engineer, at=at)
