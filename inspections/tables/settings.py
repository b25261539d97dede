"""The settings review as a list: why it is flagged, the last visit, and the years before it."""

from functools import cached_property

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from fleet.drawings.axis import TimeAxis, axis_head, day_words
from fleet.drawings.svg import render
from fleet.drawings.words import true_minus
from fleet.listing import Loaded
from fleet.reports.reasons import with_day_words
from fleet.tables.cells import cells, tag
from fleet.templatetags.drawings import state
from inspections.calc.flags import Flag
from inspections.calc.visits import SET_PRESSURE, Reading
from inspections.drawings.band_mark import band_mark
from inspections.drawings.settings_history import settings_line
from inspections.reports.panels import limits_of, panel_of
from inspections.reports.settings import SettingRow
from inspections.reports.settings_ask import NOTHING_FLAGGED, SORTS, Listing

SHOWN = 1  # reasons a flag says in a row; the device page has them all


class SettingsTable(tables.Table):
    device = tables.Column(verbose_name="Device", attrs=cells("key"))
    setting = tables.Column(verbose_name="Setting", attrs=cells("owes nowrap"))
    why = tables.Column(verbose_name="Shows", attrs=cells("say"), empty_values=(), orderable=False)
    last = tables.Column(
        verbose_name="Last visit", attrs=cells("mark"), empty_values=(), orderable=False
    )
    line = tables.Column(orderable=False, attrs=cells("line"), empty_values=())

    class Meta:
        empty_text = "Nothing matches what is asked."

    def __init__(self, review: Listing) -> None:
        super().__init__(Loaded(review, SORTS, ""))
        self.review = review

    @cached_property
    def axis(self) -> TimeAxis:
        """One axis for every page of the list, so that a page more does not shift the years."""
        days = {self.review.first_on or self.review.as_of, self.review.as_of}
        return TimeAxis.spanning(days)

    def header_line(self) -> SafeString:
        return mark_safe(render(axis_head(self.axis, self.review.as_of)))

    def render_device(self, record: SettingRow) -> SafeString:
        place = tag("device", record.device_id, record.device, *_where(record))
        return format_html("{}<small>{}</small>", place, record.model)

    def render_setting(self, record: SettingRow) -> SafeString:
        return format_html(
            "{}<small>{}</small>",
            record.setting.replace("_", " ").capitalize(),
            "" if record.setting == SET_PRESSURE else record.unit,
        )

    def render_why(self, record: SettingRow) -> SafeString:
        if not record.raised:
            return state(NOTHING_FLAGGED, "", _visits(record.n))
        flags = ((said(flag), _answer(record, flag)) for flag in record.raised)
        return format_html(
            '{}<small><a href="{}#{}">The arithmetic</a></small>',
            format_html_join("", "<div>{}{}</div>", flags),
            reverse("device_arithmetic", args=[record.device_id]),
            record.setting,
        )

    def render_last(self, record: SettingRow) -> SafeString:
        found, left = record.one.last_as_found, record.one.last_as_left
        return format_html("{}{}", _mark(record, found, left), _figures(record, found, left))

    def render_line(self, record: SettingRow) -> SafeString:
        panel = panel_of(record.one, record.point, _nowhere)
        return mark_safe(render(settings_line(self.axis, panel)))


def in_words(reason: str) -> str:
    """A reason as a page says it."""
    return true_minus(with_day_words(reason))


def reasons_of(row: SettingRow) -> list[tuple[str, list[str]]]:
    """Each flag of a setting with all its reasons, newest first, days in words."""
    return [
        (flag.code, [in_words(reason) for reason in reversed(flag.reasons)]) for flag in row.raised
    ]


def said(flag: Flag, shown: int = SHOWN) -> SafeString:
    """A flag with its latest reasons, newest first, days in words."""
    latest = [in_words(reason) for reason in reversed(flag.reasons[-shown:])]
    more = len(flag.reasons) - len(latest)
    if more:
        latest.append(f"and {more} before")
    return state(flag.code, "", "; ".join(latest))


def _answer(row: SettingRow, flag: Flag) -> SafeString | str:
    """Who has looked at it, and what they say."""
    answer = row.answered.get(flag.code)
    if answer is None:
        return ""
    return format_html("<small>Looked at by {}: {}</small>", answer.recorded_by, answer.note)


def _where(row: SettingRow) -> tuple[str, ...]:
    stand = row.stand
    if stand is None:
        return ("never fitted",)
    return (stand.tag, stand.unit_name) if stand.left_on is None else (f"last at {stand.tag}",)


def _visits(count: int) -> str:
    return f"{count} visit{'' if count == 1 else 's'} on record"


def _mark(row: SettingRow, found: Reading | None, left: Reading | None) -> SafeString | str:
    """The band mark of the last visit's pops; settings have no band to stand in."""
    last = row.one.last
    if row.setting != SET_PRESSURE or last is None or not _deviated(found, left):
        return ""
    low, high = limits_of(last) or (None, None)
    return mark_safe(
        render(
            band_mark(
                low,
                high,
                found.deviation if found else None,
                left.deviation if left else None,
                censored=bool(found and found.no_lift),
            )
        )
    )


def _deviated(found: Reading | None, left: Reading | None) -> bool:
    return any(reading and reading.deviation is not None for reading in (found, left))


def _figures(row: SettingRow, found: Reading | None, left: Reading | None) -> SafeString:
    """`found −7 notches, left −9 notches`, in the words they were typed in."""
    last = row.one.last
    words = [
        f"{stage} {true_minus(str(reading))}" if reading is not None else f"{stage} not recorded"
        for stage, reading in (("found", found), ("left", left))
    ]
    if last:
        words.append(day_words(last.on))
    return format_html_join("", "<small>{}</small>", ((said,) for said in words))


def _nowhere(ref: str) -> str:
    """A row's drawing carries no links: the device page does."""
    return ""
