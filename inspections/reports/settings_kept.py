"""The settings review of a day as a list over what is kept of it: it sorts, cuts and counts in SQL.

Only the rows of a page are worked out, and from the records, as for any other day; the flags that
take the whole fleet to find, and who answered which, come from what is kept.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache
from typing import Any

from django.db.models import Case, Count, Exists, OuterRef, Q, QuerySet, When

from fleet import clock
from fleet.models import Device, Site, User
from inspections.actions.acknowledge import fingerprint_of_fact
from inspections.calc.flags import Flag
from inspections.models import FlagState, Screening, SettingState
from inspections.reports.settings import WEIGHTS, SettingRow, review, undated_count
from inspections.reports.settings_ask import ANYTHING, NOTHING_FLAGGED, SettingsAsk, Tally

WORST = ("-is_flagged", "-device_weight", "-device_far", "device", "-weight", "id")
ORDERS: dict[str, tuple] = {
    "tag": (Case(When(tag="", then=1), default=0), "tag", "id"),
    "device": ("device__number", "id"),
    "setting": ("setting", *WORST),
}
CHUNK = 250
Key = tuple[int, int, str]  # state, device, setting
Stamp = tuple  # of a screening, its key first


@dataclass(frozen=True)
class KeptReview:
    """The rows of a kept day, worst first, as far as they are asked for and the user may see."""

    as_of: date
    screening: Screening
    user: User | None = None
    ask: SettingsAsk = ANYTHING

    @property
    def first_on(self) -> date | None:
        return self.screening.first_on

    @cached_property
    def sites(self) -> tuple[int, ...] | None:
        """The sites whose devices are seen; None = whatever there is."""
        if self.user is None:
            return None
        seen = set(self.user.site_ids())
        every = set(Site.objects.values_list("pk", flat=True))
        return None if seen and seen >= every else tuple(sorted(seen))

    def count(self) -> int:
        return _count(self.screening.stamp, self.sites, self.ask)

    def tally(self) -> Tally:
        """What stands above the list: the flag left open."""
        return _tally(self.screening.stamp, self.sites, self.ask)

    def rows(self, start: int = 0, stop: int | None = None, sort: str = "") -> list[SettingRow]:
        return _told(list(self._keys(sort)[start:stop]), self.as_of)

    def every_row(self, sort: str = "") -> Iterator[SettingRow]:
        """All rows in order, worked out some hundred at a time."""
        keys = list(self._keys(sort))
        for start in range(0, len(keys), CHUNK):
            yield from _told(keys[start : start + CHUNK], self.as_of)

    def summary(self) -> dict[str, Any]:
        found = _tally(self.screening.stamp, self.sites, self.ask, any_flag=False)
        undated = undated_count(self.user)
        return found.summary(self.as_of) | {"undated_records": undated}

    def _keys(self, sort: str) -> QuerySet:
        order = ORDERS.get(sort.lstrip("-"), WORST)
        rows = states_asked(self.screening.pk, self.sites, self.ask).order_by(*order)
        rows = rows.reverse() if sort.startswith("-") and order is not WORST else rows
        return rows.values_list("pk", "device_id", "setting")


def states_asked(
    screening: int | None,
    sites: tuple[int, ...] | None,
    ask: SettingsAsk,
    *,
    any_flag: bool = False,
) -> QuerySet[SettingState]:
    """The settings kept under a screening, of devices of these sites (None = all), that answer what
    is asked. A screening that is not yet written (None) has none."""
    rows = _seen(SettingState.objects.filter(screening=screening), sites)
    exact = {"site": ask.site, "unit": ask.unit, "model": ask.model, "service": ask.service}
    rows = rows.filter(**{name: value for name, value in exact.items() if value})
    if ask.find:
        names = ("tag", "device__number", "device__serial")
        found = (Q(**{f"{name}__icontains": ask.find}) for name in names)
        rows = rows.filter(next(found) | next(found) | next(found))
    return rows if any_flag else _flagged(rows, ask)


def _seen(rows: QuerySet[SettingState], sites: tuple[int, ...] | None) -> QuerySet[SettingState]:
    """Settings of devices of these sites, and of devices that have none yet; one site, where no
    device is loose, is asked for so that its own index gives its order."""
    if sites is None:
        return rows
    if sites and rows.filter(home=None).exists():
        return rows.filter(Q(home__in=sites) | Q(home=None))
    return rows.filter(home=sites[0]) if len(sites) == 1 else rows.filter(home__in=sites)


def services_of(user: User) -> list[str]:
    """The fluids that devices of this user's sites stand in, by name."""
    kept = Screening.objects.of_today()
    return _services(kept.stamp, KeptReview(date.min, kept, user).sites) if kept else []


@lru_cache(maxsize=16)
def _services(stamp: Stamp, sites: tuple[int, ...] | None) -> list[str]:
    rows = _seen(SettingState.objects.filter(screening=stamp[0]), sites)
    named = rows.exclude(service="").order_by("service")
    return list(named.values_list("service", flat=True).distinct())


def _flagged(rows: QuerySet[SettingState], ask: SettingsAsk) -> QuerySet[SettingState]:
    if ask.flag == NOTHING_FLAGGED:
        rows = rows.filter(is_flagged=False)
    elif ask.flag:
        rows = rows.filter(is_flagged=True)
    flags = FlagState.objects.filter(state=OuterRef("pk"))
    if ask.flag in WEIGHTS:
        flags = flags.filter(code=ask.flag)
    if ask.acknowledged:
        flags = flags.filter(acknowledgement__isnull=ask.acknowledged == "no")
    return rows.filter(Exists(flags)) if ask.acknowledged or ask.flag in WEIGHTS else rows


@lru_cache(maxsize=64)
def _count(stamp: Stamp, sites: tuple[int, ...] | None, ask: SettingsAsk) -> int:
    return states_asked(stamp[0], sites, ask).count()


@lru_cache(maxsize=64)
def _tally(
    stamp: Stamp, sites: tuple[int, ...] | None, ask: SettingsAsk, *, any_flag: bool = True
) -> Tally:
    rows = states_asked(stamp[0], sites, ask, any_flag=any_flag)
    flagged = rows.filter(is_flagged=True)
    codes = (
        FlagState.objects.filter(state__in=flagged)
        if _is_narrowed(sites, ask)
        else FlagState.objects.filter(state__screening=stamp[0])
    )
    counts = dict(codes.values_list("code").annotate(Count("pk")).order_by())
    return Tally(
        rows=rows.count(),
        devices=rows.values("device").distinct().count(),
        flagged_rows=flagged.count(),
        flagged_devices=flagged.values("device").distinct().count(),
        counts={code: counts.get(code, 0) for code in WEIGHTS},
    )


def _is_narrowed(sites: tuple[int, ...] | None, ask: SettingsAsk) -> bool:
    return sites is not None or ask != ANYTHING


def _told(keys: Sequence[Key], as_of: date) -> list[SettingRow]:
    """The rows of these kept settings, with the flags that only the fleet can tell."""
    rows = review(as_of, Device.objects.filter(pk__in={key[1] for key in keys}))
    flags: dict[int, list[FlagState]] = defaultdict(list)
    for flag in _flags(keys):
        flags[flag.state_id].append(flag)
    told = {(row.device_id, row.setting): row for row in rows}
    return [
        with_kept_flags(told[device, setting], flags[state])
        for state, device, setting in keys
        if (device, setting) in told
    ]


def _flags(keys: Sequence[Key]) -> QuerySet[FlagState]:
    rows = FlagState.objects.filter(state__in=[key[0] for key in keys]).order_by("pk")
    return rows.select_related("acknowledgement__recorded_by")


def as_kept(rows: Sequence[SettingRow], as_of: date) -> list[SettingRow]:
    """Rows of one device with what is kept of them, if what is kept is of that day."""
    kept = Screening.objects.of_today()
    if not rows or kept is None or clock.day_of(kept.made_at) != as_of:
        return list(rows)
    flags: dict[tuple[int, str], list[FlagState]] = defaultdict(list)
    found = FlagState.objects.filter(
        state__screening=kept, state__device__in={row.device_id for row in rows}
    )
    for flag in found.select_related("state", "acknowledgement__recorded_by").order_by("pk"):
        flags[flag.state.device_id, flag.state.setting].append(flag)
    return [with_kept_flags(row, flags[row.device_id, row.setting]) for row in rows]


def with_kept_flags(row: SettingRow, flags: Sequence[FlagState]) -> SettingRow:
    """The row with its kept statistics, and the answers that hold for what it shows."""
    order = list(WEIGHTS)
    statistics = [flag for flag in flags if flag.is_statistic]
    facts: Mapping[str, str] = {
        flag.code: fingerprint_of_fact(flag.code, flag.reasons) for flag in row.raised
    }
    return row.raising(
        [
            Flag(flag.code, tuple(flag.reasons))
            for flag in sorted(statistics, key=lambda flag: order.index(flag.code))
        ],
        {
            flag.code: flag.acknowledgement
            for flag in flags
            if flag.acknowledgement
            and (flag.is_statistic or facts.get(flag.code) == flag.fingerprint)
        },
    )
