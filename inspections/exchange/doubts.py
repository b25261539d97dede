"""What a load brings that two sheets together do not explain: each is asked about."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date

from django.db.models import F, Q

from fleet.calc.activities import EARNED_IN_PLACE
from fleet.calc.arranged import role_contradiction
from fleet.calc.duty import boiler_group_questions
from fleet.exchange.arrangements import Joined
from fleet.exchange.owed_checks import AGED
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.models import (
    Arrangement,
    ArrangementMember,
    Equipment,
    Obligation,
    Position,
    PositionDuty,
    PositionStatus,
)
from inspections.actions.ask import ask
from inspections.actions.records import Record
from inspections.models import Inspection, Question

Asked = tuple[Row, Question]
Batch = list[tuple[Row, Record]]
CHUNK = 1000
BOILER, STANDBY = "boiler", ArrangementMember.Role.STANDBY


def of_register(run: Run) -> Iterator[Asked]:
    """Questions on what is owed, on arrangements and on boilers, once all of it is in."""
    written = run.written
    yield from of_ages(written.get("obligations", []))
    yield from of_roles(written.get("arrangements", []), run.today)
    duties = [*written.get("positions", []), *written.get("changes", [])]
    yield from of_boilers(duties, run.today)


def shared_roles() -> dict[int, str]:
    """The role of each position among several that share one duty."""
    members = ArrangementMember.objects.filter(arrangement__kind=Arrangement.Kind.MULTIPLE)
    return dict(members.values_list("position", "role"))


def of_ages(written: Iterable[tuple[Row, Obligation]]) -> Iterator[Asked]:
    """A rule that goes by age gives no date where nobody knows the age."""
    for row, owed in written:
        if owed.rule.kind == AGED and owed.position.in_service_on is None:
            text = (
                f"{owed.rule} goes by age, and the day {owed.position} entered service is not"
                " given: age unknown, so there is no date"
            )
            yield row, _of_position(owed, "age_unknown", f"rule {owed.activity} age", "", text)


def _of_position(owed: Obligation, code: str, field: str, typed: str, text: str) -> Question:
    return Question(
        site_id=owed.position.site_id,
        position=owed.position,
        code=code,
        field=field,
        typed=typed,
        text=text,
    )


def of_roles(written: Iterable[tuple[Row, Joined]], today: date) -> Iterator[Asked]:
    """Does the role in an arrangement say what the duty says?"""
    joined = {id(one): (row, one) for row, one in written}.values()
    duties = duties_of({place for _, one in joined for place in one.members}, today)
    for row, one in joined:
        for place, member in one.members.items():
            duty = duties.get(place)
            text = duty and role_contradiction(duty.duty_role, one.arrangement.kind, member.role)
            if text:
                question = Question(
                    site_id=one.arrangement.site_id,
                    position=member.position,
                    code="role_contradicts",
                    field=f"role {one.arrangement.pk}",
                    typed=member.role,
                    text=f"in {one.arrangement} {text}",
                )
                mine = (r for r in one.rows if r["tag"] == member.position.tag)
                yield next(mine, row), question


def of_boilers(written: Iterable[tuple[Row, PositionDuty]], today: date) -> Iterator[Asked]:
    """The valves of one boiler together, two or more, as they are set today; a standby stands in
    for its duty and is none of them."""
    rows: dict[int, tuple[Row, PositionDuty]] = {}
    for row, duty in written:
        if duty.duty_role == BOILER and duty.position.equipment_id:
            rows.setdefault(duty.position.equipment_id, (row, duty))
    boilers = Equipment.objects.filter(pk__in=rows).exclude(mawp=None)
    placed = Position.objects.filter(equipment__in=boilers)
    places = dict(placed.values_list("pk", "equipment"))
    standbys = set(
        ArrangementMember.objects.filter(position__in=places, role=STANDBY).values_list(
            "position", flat=True
        )
    )
    sets = defaultdict(list)
    for place, duty in duties_of(set(places) - standbys, today).items():
        if duty.duty_role == BOILER and duty.status != PositionStatus.REMOVED:
            sets[places[place]].append(duty.set_pressure)
    for boiler in boilers:
        row, duty = rows[boiler.pk]
        group = sets[boiler.pk]
        said = boiler_group_questions(boiler.mawp, group) if len(group) > 1 else ()
        if said:
            question = Question(
                site_id=duty.position.site_id,
                position=duty.position,
                code="boiler_group",
                field="set_pressure boiler group",
                typed=str(duty.set_pressure),
                text=f"the valves of {boiler}: {'; '.join(said)}",
            )
            yield row, question


def duties_of(positions: set[int], day: date) -> dict[int, PositionDuty]:
    """The duty in force on a day."""
    found, keys = {}, sorted(positions)
    begun = Q(from_on=None) | Q(from_on__lte=day)
    for start in range(0, len(keys), CHUNK):
        rows = PositionDuty.objects.filter(begun, position__in=keys[start : start + CHUNK])
        ordered = rows.order_by(F("from_on").asc(nulls_first=True))
        found.update({duty.position_id: duty for duty in ordered.select_related("position")})
    return found


def of_records(run: Run, batch: Batch) -> list[Question]:
    """Records of the place from before there was one, and of two on one day. Asked and answered
    as new questions."""
    return ask([*_too_early(batch), *_twice_a_day(batch)], by=run.by, at=run.at)


def _too_early(batch: Batch) -> Iterator[Question]:
    """What is earned in place cannot be earned before the place was there."""
    earned = [(row, record.inspection) for row, record in batch]
    earned = [(row, one) for row, one in earned if one.activity in EARNED_IN_PLACE and one.done_on]
    places = Position.objects.in_bulk({one.position_id for _, one in earned} - {None})
    for row, one in earned:
        place = places.get(one.position_id)
        days = (place.in_service_on, place.commissioned_on) if place else ()
        late = [day for day in days if day and one.done_on < day]
        if late:
            text = f"done on {one.done_on}, before {place} entered service on {max(late)}"
            yield _of_record(one, "before_service", "done_on", row.text("done_on"), text)


def _twice_a_day(batch: Batch) -> Iterator[Question]:
    """One device, one activity, one day, two records: which is it? Not where one corrects the
    other."""
    days = {record.inspection.done_on for _, record in batch} - {None}
    devices = sorted({record.inspection.device_id for _, record in batch})
    held: dict[tuple, list[Inspection]] = defaultdict(list)
    for start in range(0, len(devices), CHUNK):
        rows = Inspection.objects.filter(
            device__in=devices[start : start + CHUNK], done_on__in=days
        )
        for other in rows.exclude(locked_at=None, signed_at=None).filter(corrected_by=None):
            held[other.device_id, other.activity, other.done_on].append(other)
    for row, record in batch:
        mine = record.inspection
        same = held[mine.device_id, mine.activity, mine.done_on]
        earlier = [one for one in same if one.pk < mine.pk and one.pk != mine.corrects_id]
        if earlier:
            text = f"{earlier[0].ref} says the same of this device on {mine.done_on}: one or two?"
            yield _of_record(mine, "twice_a_day", "done_on twice", row.text("done_on"), text)


def _of_record(mine: Inspection, code: str, field: str, typed: str, text: str) -> Question:
    return Question(
        site_id=mine.site_id,
        inspection=mine,
        device_id=mine.device_id,
        position_id=mine.position_id,
        code=code,
        field=field,
        typed=typed[:200],
        text=text,
    )
