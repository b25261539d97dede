"""What the work on the parts still owes before it is signed, and the limits it is held against."""

import re
from collections.abc import Iterator

from fleet.calc.units import UnitsError
from fleet.faults import Fault
from fleet.models import Device
from inspections.actions.records import Record
from inspections.actions.verify import goes_back
from inspections.calc.limits import Limit, judge, key_of, read_limit
from inspections.models import Finding, PartLimit

LAPPED = re.compile(r"(?<!not )(?<!no )\b(?:re-?)?lapp(?:ed|ing)\b", re.IGNORECASE)


def limits_of(device: Device) -> dict[str, Limit]:
    """{key of part and measure: limit} for the model of a device, in the model's order."""
    if device.model_id is None:
        return {}
    limits: dict[str, Limit] = {}
    for row in PartLimit.objects.filter(model_id=device.model_id).order_by("pk"):
        try:
            limit = read_limit(row.part, row.measure, row.low, row.high, row.source)
        except UnitsError:
            continue  # no form lets one in; there is nothing to hold a figure against
        limits.setdefault(key_of(row.part, row.measure), limit)
    return limits


def unfinished(record: Record) -> list[Fault]:
    """Figures out of their limit that nobody answered for, and a contact check that is owed."""
    return [*_unanswered(record), *_unchecked(record)]


def _unanswered(record: Record) -> Iterator[Fault]:
    measured = [finding for finding in record.findings if finding.value and not finding.action]
    limits = limits_of(record.inspection.device) if measured else {}
    for finding in measured:
        limit = limits.get(key_of(finding.part, finding.measure))
        judged = judge(finding.value, limit) if limit else None
        if judged is not None and judged.wants_answer:
            field = f"{finding.part} {finding.measure}"
            yield Fault(field, finding.value, f"{judged.words}: say what was done, or why it stays")


def _unchecked(record: Record) -> Iterator[Fault]:
    """The ring of the last check is unbroken, or the seat is lapped again."""
    if not goes_back(record):
        return
    checks = sorted(record.contact_checks, key=lambda check: check.order)
    for check in checks:
        if not check.is_unbroken and not check.note:
            words = "the ring was broken: what was done about it"
            yield Fault(f"contact check {check.order}", "", words)
    if checks and not checks[-1].is_unbroken:
        words = "the last ring was broken: lap again and check again until it is unbroken"
        yield Fault("contact check", "", words)
    elif not checks and (lapped := _lapped(record)):
        words = f"{lapped.part} was lapped: a contact check with an unbroken ring"
        yield Fault("contact check", "", words)


def _lapped(record: Record) -> Finding | None:
    return next((finding for finding in record.findings if LAPPED.search(finding.action)), None)
