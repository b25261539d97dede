"""Second initials: another person looked at a setting before it was closed in."""

from collections.abc import Sequence

from fleet.faults import Fault
from fleet.models import User
from inspections.actions.records import Record
from inspections.actions.targets import Target
from inspections.models import SettingReading, Stage


def initials(name: str) -> str:
    return "".join(part[0] for part in name.replace("-", " ").split()).casefold()


def not_another(record: Record, signer: User) -> list[Fault]:
    """As-lefts whose second initials are the signer's own."""
    words = "another person's initials, not the signer's own; the whole name where you share them"
    return [
        Fault(f"{reading.setting} as left", reading.seconded_by, words)
        for reading in _left(record)
        if _is_own(reading.seconded_by, signer)
    ]


def unseconded(record: Record, targets: Sequence[Target]) -> list[str]:
    """Settings that the model requires, left without second initials: said, never refused."""
    required = {target.setting: target.words for target in targets if target.required}
    return [
        required[reading.setting]
        for reading in _left(record)
        if reading.setting in required and reading.value is not None and not reading.seconded_by
    ]


def _left(record: Record) -> list[SettingReading]:
    return [reading for reading in record.settings if reading.stage == Stage.AS_LEFT]


def _is_own(typed: str, signer: User) -> bool:
    plain = " ".join(typed.replace(".", " ").split()).casefold()
    own = {signer.name.casefold(), signer.username.casefold(), initials(signer.name)}
    return bool(plain) and (plain in own or plain.replace(" ", "") == initials(signer.name))
