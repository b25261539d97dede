"""Fitting, taking out and swapping at one position: checked, written and replayed as one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import F, Q

from fleet import audit, clock, ledger
from fleet.actions import devices, installations
from fleet.faults import Fault, Refused
from fleet.models import Device, Installation, Position, PositionDuty, PositionStatus, User

ALIKE = ("kind", "orifice", "inlet", "outlet")  # what a position is piped for, by its last device
UNFIT = (Device.Status.QUARANTINED, Device.Status.SCRAPPED)


@dataclass(frozen=True)
class Move:
    """What changes at a position on a day.

    standing: the spell that whoever asks saw standing there, which ends; None = they saw none.
    device: what goes in; None = nothing does. accepted: the mismatches that `reason` answers.
    """

    position: Position
    on: date
    standing: int | None
    device: Device | None = None
    fitted_by: User | None = None
    reason: str = ""
    accepted: str = ""


@audit.writing()
def move(wanted: Move, *, by: User, at: datetime) -> Installation | None:
    """End what stands, fit what comes, and replay every position concerned.

    Raises Refused: faults name `on`, `device` or `standing`; mismatches, each a fault of
    `override_reason`, until a reason answers exactly those that are found.
    """
    standing = standing_at(wanted.position)
    faults = _of_moment(wanted, standing, at) + _of_device(wanted, standing)
    if not faults:
        faults = _unanswered(wanted)
    if faults:
        raise Refused(faults)
    spells = []
    if standing is not None:
        installations.remove([(standing, wanted.on, "")], by=by, at=at)
        spells.append(standing)
    fitted = _fitted(wanted, wanted.device, by, at) if wanted.device else None
    ledger.replay_positions(ledger.concerned_by([*spells, *([fitted] if fitted else [])]), at=at)
    return fitted


def _fitted(wanted: Move, device: Device, by: User, at: datetime) -> Installation:
    device = Device.objects.get(pk=device.pk)
    spell = Installation(
        position=wanted.position,
        device=device,
        installed_on=wanted.on,
        fitted_by=wanted.fitted_by,
        override_reason=wanted.reason if mismatches(wanted.position, device, wanted.on) else "",
    )
    installations.fit([spell], by=by, at=at)
    if device.site_id is None:
        device.site_id = wanted.position.site_id
        devices.update_devices([device], by=by, at=at)
    return spell


def standing_at(position: Position) -> Installation | None:
    """The spell that has not ended."""
    return position.installations.standing().select_related("device").first()


def last_at(position: Position) -> Installation | None:
    """The latest spell, standing or ended."""
    spells = position.installations.not_voided().select_related("device")
    return spells.order_by("installed_on").last()


def _of_moment(wanted: Move, standing: Installation | None, at: datetime) -> list[Fault]:
    if wanted.standing != (standing.pk if standing else None):
        now = f"{standing.device} stands here now" if standing else "nothing is fitted here now"
        return [Fault("standing", "", f"this changed meanwhile: {now}. Look again, then save")]
    typed = wanted.on.isoformat()
    if wanted.on > clock.day_of(at):
        return [Fault("on", typed, "a day that is not in the future")]
    if standing is not None and wanted.on <= standing.installed_on:
        words = f"a day after {standing.installed_on}, when {standing.device} was fitted here"
        return [Fault("on", typed, words)]
    last = last_at(wanted.position)
    if last is not None and last.removed_on is not None and wanted.on < last.removed_on:
        words = f"no day before {last.removed_on}, when {last.device} was taken out here"
        return [Fault("on", typed, words)]
    return []


def _of_device(wanted: Move, standing: Installation | None) -> list[Fault]:
    if wanted.device is None:
        return []
    device = Device.objects.select_related("site").get(pk=wanted.device.pk)
    words = _not_free(device, wanted, standing)
    return [Fault("device", device.number, words)] if words else []


def _not_free(device: Device, wanted: Move, standing: Installation | None) -> str:
    """What was expected of the device instead; empty when it may go in."""
    if standing is not None and standing.device_id == device.pk:
        return "another device than the one that is fitted here"
    if device.status in UNFIT:
        return f"a device that is not {device.get_status_display()}"
    if device.site_id not in (None, wanted.position.site_id):
        return f"a device of this site; it belongs to {device.site}"
    spells = device.installations.not_voided().select_related("position")
    if elsewhere := spells.standing().first():
        return f"a free device; it is fitted at {elsewhere.position} since {elsewhere.installed_on}"
    last = spells.order_by("removed_on").last()
    if last is not None and last.removed_on is not None and wanted.on < last.removed_on:
        return f"a device that was free; it stood at {last.position} until {last.removed_on}"
    return ""


def _unanswered(wanted: Move) -> list[Fault]:
    if wanted.device is None:
        return []
    found = mismatches(wanted.position, wanted.device, wanted.on)
    if wanted.reason and wanted.accepted == said(found):
        return []
    return [Fault("override_reason", "", words, code="mismatch") for words in found]


def said(found: Sequence[str]) -> str:
    """Mismatches as one line, to be handed back with the reason that answers them."""
    return "; ".join(found)


def mismatches(position: Position, device: Device, on: date) -> list[str]:
    """The fitting check: the device against the duty of that day, and against what stood there
    last, because a register seldom says what a position is piped for."""
    duty, last = duty_on(position, on), last_at(position)
    return mismatches_with(device, duty, last.device if last else None, on)


def mismatches_with(
    device: Device, duty: PositionDuty | None, last: Device | None, on: date
) -> list[str]:
    """The same check where duty and last device are at hand already."""
    return _of_duty(device, duty, on) + (_unlike(device, last) if last else [])


def _unlike(device: Device, before: Device) -> list[str]:
    found = []
    for name in ALIKE:
        mine, theirs = _shown(device, name), _shown(before, name)
        if mine and theirs and _plain(mine) != _plain(theirs):
            found.append(f"its {name} is {mine}, that of {before}, fitted here last, is {theirs}")
    return found


def _of_duty(device: Device, duty: PositionDuty | None, on: date) -> list[str]:
    if duty is None:
        return [f"nothing says what the position asked for on {on}"]
    found = installations.misfits(device, duty, on)
    if duty.status == PositionStatus.REMOVED:
        found.insert(0, "the position itself is listed as removed")
    return found


def unchecked(position: Position, device: Device, on: date) -> list[str]:
    """What the check could not compare, because the device's particulars do not say it."""
    last = last_at(position)
    return unchecked_with(device, duty_on(position, on), last.device if last else None)


def unchecked_with(device: Device, duty: PositionDuty | None, last: Device | None) -> list[str]:
    """The same where duty and last device are at hand already."""
    found = ["nameplate set pressure"] if device.nameplate_set is None else []
    if duty and duty.required_capacity is not None and device.rated_capacity is None:
        found.append("rated capacity")
    names = [name for name in ALIKE if last is not None and _shown(last, name)]
    return found + [name for name in names if not _shown(device, name)]


def duty_on(position: Position, on: date) -> PositionDuty | None:
    """The duty in force that day."""
    duties = position.duties.filter(Q(from_on=None) | Q(from_on__lte=on))
    return duties.order_by(F("from_on").asc(nulls_first=True)).last()


def _shown(device: Device, name: str) -> str:
    return str(device.get_kind_display() if name == "kind" else getattr(device, name))


def _plain(text: str) -> str:
    return "".join(text.casefold().split())
