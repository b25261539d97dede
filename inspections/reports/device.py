"""One device, whole: where it is, what it owes there, and what its settings did."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from fleet.models import Device, Installation
from fleet.reports.due import DueList, DueRow, rows_of
from fleet.reports.due_lines import in_order, lines_of, sources
from inspections.models import Inspection, Question
from inspections.reports.histories import DeviceHistory
from inspections.reports.settings import SettingRow, review
from inspections.reports.settings_kept import as_kept
from inspections.reports.timeline import (
    LATE,
    Entry,
    latest_first,
    of_questions,
    of_records,
    taken_back,
)


@dataclass(frozen=True)
class DeviceStory:
    """Everything one page says about a device."""

    device: Device
    as_of: date
    spells: Sequence[Installation]  # latest first, without those taken back
    hidden_count: int  # spells at sites the reader does not see
    fitted: Installation | None
    owed: Sequence[DueRow]  # at the position it is fitted to
    rows: Sequence[SettingRow]  # one a setting, in the order of its model
    questions: Sequence[Question]  # open ones
    open_records: Sequence[Inspection]
    timeline: Sequence[Entry]  # latest first

    @property
    def last(self) -> Installation | None:
        return self.spells[0] if self.spells else None

    @property
    def flagged(self) -> list[SettingRow]:
        return [row for row in self.rows if row.raised]

    @property
    def is_past_shelf(self) -> bool:
        """On the shelf after its day, or fitted after it."""
        until = self.device.shelf_expires_on
        until_now = self.fitted.installed_on if self.fitted else self.as_of
        return until is not None and until < until_now

    @property
    def history(self) -> DeviceHistory | None:
        return self.rows[0].history if self.rows else None


def story_of(device: Device, due: DueList) -> DeviceStory:
    """About a dozen queries, however long the history; rows of other sites are not told."""
    begun = device.installations.filter(installed_on__lte=due.as_of)
    written = _written(begun.visible_to(due.user))
    spells = [spell for spell in written if spell.voided_at is None]
    fitted = next((spell for spell in spells if _stands(spell, due.as_of)), None)
    questions = list(
        Question.objects.filter(device=device)
        .select_related("inspection", "answered_by", "position")
        .order_by("-recorded_at", "-pk")
    )
    records = list(
        device.inspections.visible_to(due.user).select_related(
            "device", "position", "done_by", "event"
        )
    )
    entries = [
        *of_fitting(written),
        *of_records(records, of_one_device=True),
        *of_questions(questions),
    ]
    rows = as_kept(review(due.as_of, Device.objects.filter(pk=device.pk)), due.as_of)
    return DeviceStory(
        device=device,
        as_of=due.as_of,
        spells=spells,
        hidden_count=begun.not_voided().count() - len(spells),
        fitted=fitted,
        owed=_owed(fitted, due) if fitted else [],
        rows=_in_model_order(rows),
        questions=[question for question in questions if question.answered_at is None],
        open_records=[record for record in records if record.locked_at is None],
        timeline=latest_first(entries),
    )


def _written(spells: QuerySet[Installation]) -> list[Installation]:
    """Latest first; those taken back too."""
    people = ("fitted_by", "recorded_by", "voided_by")
    rows = spells.select_related("position__site", "position__unit", "device", *people)
    return list(rows.order_by("-installed_on", "-pk"))


def _stands(spell: Installation, day: date) -> bool:
    return spell.removed_on is None or spell.removed_on > day


def _owed(spell: Installation, due: DueList) -> list[DueRow]:
    parts = [part.filter(line_position=spell.position_id) for part in sources(due.as_of, due.user)]
    return rows_of(lines_of(in_order(parts, "order_on")), due.seen)


def _in_model_order(rows: Sequence[SettingRow]) -> list[SettingRow]:
    order = list(rows[0].history.series) if rows else []
    return sorted(rows, key=lambda row: order.index(row.setting))


def of_fitting(spells: Sequence[Installation]) -> Iterator[Entry]:
    for spell in spells:
        place = ("position", spell.position_id)
        if spell.voided_at:
            beneath = taken_back(spell)
            yield Entry(spell.installed_on, "Fitted at", beneath, LATE, place, spell.position.tag)
            continue
        by = f"by {spell.fitted_by}" if spell.fitted_by else ""
        unmatched = spell.override_reason
        written = f"(written down by {spell.recorded_by})"
        reason = f"although it did not match: {unmatched} {written}" if unmatched else ""
        beneath = "; ".join(filter(None, [by, reason]))
        tone = "warn" if unmatched else ""
        yield Entry(spell.installed_on, "Fitted at", beneath, tone, place, spell.position.tag)
        if spell.removed_on:
            yield Entry(spell.removed_on, "Taken out of", "", "", place, spell.position.tag)
