"""The questions a load opens: what it brings and what does not explain itself."""

from collections.abc import Iterable, Iterator

from fleet.actions.installations import misfits
from fleet.calc.arranged import limiting_role
from fleet.calc.duty import set_pressure_question
from fleet.calc.units import Quantity
from fleet.exchange.deferrals import breaches_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.faults import FINDING, Fault
from fleet.models import Device, Installation, PositionDuty
from inspections.actions.ask import ask
from inspections.actions.cold_test import cold_test_question
from inspections.actions.records import Record
from inspections.exchange import days, doubts
from inspections.models import Question

Asked = tuple[Row, Question]
SIGNED_ON = "approved_on"
GAUGED_DUTY = ("set_pressure", "vacuum_set", "cold_test_pressure", "back_pressure")
GAUGED_RECORD = ("cold_test_pressure", "first_pop", "no_lift_at", "later_pops", "as_left_pop",
                 "reseat")  # fmt: skip


def say_findings(run: Run, asked: Iterable[Asked]) -> None:
    """Each question opened is a finding at the row that raised it."""
    for row, question in asked:
        field = question.field.split(" ")[0]
        run.say(Fault(field, question.typed, question.text, row.sheet, row.number, FINDING,
                      question.code))  # fmt: skip
        run.count("questions opened")


def ask_of_register(run: Run) -> None:
    """Questions on positions, devices and spells that this run wrote, once all of it is in."""
    asked = [
        *_of_duties(run, run.written.get("positions", [])),
        *_of_duties(run, run.written.get("changes", [])),
        *_of_devices(run.written.get("devices", [])),
        *_of_spells(run.written.get("installations", [])),
        *doubts.of_register(run),
        *days.of_triggers(run.written.get("triggers", [])),
    ]
    _ask(run, asked)


def ask_of_deferrals(run: Run) -> None:
    """What past deferrals broke of their policies is kept, and asked about. Needs due dates."""
    asked = []
    for row, deferral, breach in breaches_of(run):
        position = deferral.obligation.position
        field = SIGNED_ON if breach.field == "on" else breach.field
        question = Question(
            site_id=position.site_id,
            position=position,
            code=breach.code,
            field=f"{field} due {deferral.due_on} {deferral.obligation.activity}",
            typed=row.text(field)[:200],
            text=f"the deferral of {deferral.due_on} to {deferral.until_on}: {breach.words}",
        )
        asked.append((row, question))
    _ask(run, asked)


def ask_of_decisions(run: Run) -> None:
    """Past decisions that were overdue from their first day. Needs due dates."""
    _ask(run, [*days.of_decisions(run.written.get("decisions", []))])


def _ask(run: Run, asked: list[Asked]) -> None:
    rows = {id(question): row for row, question in asked}
    fresh = ask([question for _, question in asked], by=run.by, at=run.at)
    say_findings(run, ((rows[id(question)], question) for question in fresh))


def _of_duties(run: Run, written: list[tuple[Row, PositionDuty]]) -> Iterator[Asked]:
    fitted = dict(Installation.objects.standing().values_list("position", "device__kind"))
    roles = doubts.shared_roles() if written else {}
    for row, duty in written:
        role = limiting_role(duty.duty_role, roles.get(duty.position_id, ""))
        for code, field, typed, text in _asked_of(duty, fitted.get(duty.position_id), row, role):
            question = Question(
                site_id=duty.position.site_id,
                position=duty.position,
                code=code,
                field=field if duty.from_on is None else f"{field} from {duty.from_on}",
                typed=typed,
                text=text,
            )
            yield row, question


def _asked_of(
    duty: PositionDuty, kind: str | None, row: Row, role: str
) -> Iterator[tuple[str, str, str, str]]:
    for name in GAUGED_DUTY:
        value = getattr(duty, name)
        if value is not None and value.assumed_gauge:
            yield "assumed_gauge", name, value.text, _gauge_words(value)
    equipment = duty.position.equipment
    if equipment and equipment.mawp and duty.set_pressure:
        if equipment.mawp.assumed_gauge and row.given("equipment_mawp"):
            words = _gauge_words(equipment.mawp)
            yield "assumed_gauge", "equipment_mawp", equipment.mawp.text, words
        text = set_pressure_question(duty.set_pressure, equipment.mawp, role)
        if text:
            yield "set_above_limit", "set_pressure", duty.set_pressure.text, text
    typed = duty.cold_test_pressure
    if typed is not None and (text := cold_test_question(typed, duty, kind)):
        yield "cold_test_mismatch", "cold_test_pressure", typed.text, text


def _gauge_words(value: Quantity) -> str:
    return f"{value.text} does not say gauge or absolute; gauge is assumed"


def _of_devices(written: list[tuple[Row, Device]]) -> Iterator[Asked]:
    for row, device in written:
        value = device.nameplate_set
        if value is not None and value.assumed_gauge:
            yield (
                row,
                Question(
                    site_id=device.site_id,
                    device=device,
                    code="assumed_gauge",
                    field="nameplate_set",
                    typed=value.text,
                    text=_gauge_words(value),
                ),
            )


def _of_spells(written: list[tuple[Row, Installation]]) -> Iterator[Asked]:
    """The fitting check, for what was fitted before anybody could be asked."""
    duties = _duties({spell.position_id for _, spell in written})
    for row, spell in written:
        held = [duty for duty in duties.get(spell.position_id, [])
                if duty.from_on is None or duty.from_on <= spell.installed_on]  # fmt: skip
        if not held or spell.override_reason:
            continue
        found = misfits(spell.device, held[-1], spell.installed_on)
        if found:
            words = f"{spell.device} was fitted on {spell.installed_on}, but {'; '.join(found)}"
            yield (
                row,
                Question(
                    site_id=spell.position.site_id,
                    position=spell.position,
                    device=spell.device,
                    code="unfit_device",
                    field=f"device {spell.device.number}"[:49] + f" {spell.installed_on}",
                    typed=spell.device.number,
                    text=words,
                ),
            )


def _duties(positions: set[int]) -> dict[int, list[PositionDuty]]:
    keys, found = sorted(positions), {}
    for start in range(0, len(keys), 1000):
        rows = PositionDuty.objects.filter(position__in=keys[start : start + 1000])
        for duty in sorted(rows, key=lambda d: (d.from_on is not None, d.from_on)):
            found.setdefault(duty.position_id, []).append(duty)
    return found


def assumed_gauge(run: Run, batch: list[tuple[Row, Record]]) -> list[Question]:
    """One question for each pressure of these records that does not say gauge or absolute."""
    asked = []
    for row, record in batch:
        inspection = record.inspection
        for name in GAUGED_RECORD:
            value = row[name]
            values = value if isinstance(value, tuple) else (value,)
            for each in values:
                if each is not None and each.assumed_gauge:
                    asked.append(
                        Question(
                            site_id=inspection.site_id,
                            inspection=inspection,
                            device_id=inspection.device_id,
                            position_id=inspection.position_id,
                            code="assumed_gauge",
                            field=name,
                            typed=each.text,
                            text=_gauge_words(each),
                        )
                    )
    return ask(asked, by=run.by, at=run.at)
