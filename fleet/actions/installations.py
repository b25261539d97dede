"""Fitting, removing, and taking back. After the first two callers replay what is concerned."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from itertools import pairwise

from fleet import audit, clock, ledger
from fleet.faults import Fault, Refused
from fleet.models import Device, Installation, PositionDuty, User

BATCH = 1000
Clash = tuple[Installation, Installation, str]  # a spell, the earlier one it meets, whose


def clashes(spells: Iterable[Installation]) -> list[Clash]:
    """Spells that overlap, for one position or for one device. Half-open: out and in on one day
    is legal."""
    found: list[Clash] = []
    for noun in ("position_id", "device_id"):
        groups: dict[int, list[Installation]] = defaultdict(list)
        for spell in spells:
            groups[getattr(spell, noun)].append(spell)
        for group in groups.values():
            group.sort(key=lambda spell: spell.installed_on)
            found += [
                (late, soon, noun[:-3]) for soon, late in pairwise(group) if _meet(soon, late)
            ]
    return found


def _meet(soon: Installation, late: Installation) -> bool:
    return soon.removed_on is None or late.installed_on < soon.removed_on


@audit.writing()
def fit(spells: Sequence[Installation], *, by: User, at: datetime) -> None:
    """Write spells, unsaved and without stamps. Raises Refused where they overlap what stands."""
    for spell in spells:
        spell.recorded_by, spell.recorded_at = by, at
        if spell.removed_on is not None:
            spell.closed_by, spell.closed_at = by, at
    faults = [_overlap(*clash) for clash in clashes([*spells, *_standing_with(spells)])]
    if faults:
        raise Refused(faults)
    Installation.objects.bulk_create(spells, batch_size=BATCH)
    audit.record((audit.change("device fitted", spell) for spell in spells), by=by, at=at)


def _overlap(late: Installation, soon: Installation, noun: str) -> Fault:
    where = "the position holds" if noun == "position" else "the device is at"
    other = soon.device if noun == "position" else soon.position
    words = f"a spell that overlaps no other: from {soon.installed_on} {where} {other}"
    return Fault("installed_on", str(late.installed_on), words, code="overlap")


def _standing_with(spells: Sequence[Installation]) -> list[Installation]:
    """Stored spells of the same positions and devices."""
    found: dict[int, Installation] = {}
    for name in ("position", "device"):
        keys = sorted({getattr(spell, f"{name}_id") for spell in spells})
        for start in range(0, len(keys), BATCH):
            rows = Installation.objects.filter(**{f"{name}__in": keys[start : start + BATCH]})
            found.update({row.pk: row for row in rows.select_related("device", "position")})
    return list(found.values())


@audit.writing()
def remove(spells: Sequence[tuple[Installation, date, str]], *, by: User, at: datetime) -> None:
    """Close spells on a day: (installation, removed_on, what was typed if it is partial)."""
    for spell, removed_on, typed in spells:
        spell.removed_on, spell.removed_typed = removed_on, typed
        spell.closed_by, spell.closed_at = by, at
        Installation.objects.filter(pk=spell.pk).update(
            removed_on=removed_on, removed_typed=typed, closed_by=by, closed_at=at
        )
    audit.record((audit.change("device removed", spell) for spell, _, _ in spells), by=by, at=at)


@audit.writing()
def void(spell: Installation, *, reason: str, by: User, at: datetime) -> None:
    """Take back a spell that was written down by mistake: it stays on record and counts for
    nothing; its days are free; every position concerned is replayed.

    Raises Refused: without a reason, and for one that was taken back already.
    """
    spell.refresh_from_db()
    if spell.voided_at is not None:
        day = clock.day_of(spell.voided_at)
        words = f"a fitting that stands: {spell.voided_by} took this one back on {day}"
        raise Refused([Fault("spell", "", words, code="voided")])
    spell.void_reason = " ".join(reason.split())
    if not spell.void_reason:
        raise Refused([Fault("reason", reason, "why this fitting was a mistake")])
    spell.voided_by, spell.voided_at = by, at
    Installation.objects.filter(pk=spell.pk).update(
        voided_by=by, voided_at=at, void_reason=spell.void_reason
    )
    ledger.replay_positions(ledger.concerned_by([spell]), at=at)
    audit.record([audit.change("fitting voided", spell)], by=by, at=at)


def misfits(device: Device, duty: PositionDuty, on: date) -> list[str]:
    """Why this device does not suit the duty it is fitted to, a sentence each."""
    return [*_wrong_set(device, duty), *_too_small(device, duty), *_not_ready(device, on)]


def _wrong_set(device: Device, duty: PositionDuty) -> list[str]:
    nameplate = device.nameplate_set
    if nameplate is None or nameplate in (duty.set_pressure, duty.cold_test_pressure):
        return []
    return [f"its nameplate says {nameplate}, the position asks for {duty.set_pressure}"]


def _too_small(device: Device, duty: PositionDuty) -> list[str]:
    rated, required = device.rated_capacity, duty.required_capacity
    if rated is None or required is None or rated.dimension != required.dimension:
        return []
    return [f"it passes {rated}, the position needs {required}"] if rated < required else []


def _not_ready(device: Device, on: date) -> list[str]:
    found = []
    if device.shelf_expires_on is not None and device.shelf_expires_on < on:
        found.append(f"its shelf life ended on {device.shelf_expires_on}, before {on}")
    return found
