"""From rows to an inspection with its children, nothing of it saved yet."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from fleet.exchange.compare import value_of
from fleet.exchange.places import device_of, may_touch
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.models import Device, Position, Site, User
from inspections.actions.records import Record
from inspections.exchange.findings import findings_of
from inspections.exchange.pops import pops_of
from inspections.exchange.readings import readings_of
from inspections.exchange.setting_points import Settings
from inspections.exchange.sheet import METHODS, PLAIN
from inspections.models import Inspection


@dataclass
class Sources:
    """The three sheets of a record: children by the ref they belong to."""

    rows: Sequence[Row]
    settings: dict[str, list[Row]] = field(default_factory=dict)
    findings: dict[str, list[Row]] = field(default_factory=dict)

    def refs(self) -> set[str]:
        """Every ref the sheets name, those of corrected records among them."""
        named = {row[name] for row in self.rows for name in ("ref", "corrects") if row[name]}
        return named | set(self.settings) | set(self.findings)


def by_ref(rows: Iterable[Row]) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        groups[row["ref"]].append(row)
    return dict(groups)


class Builder:
    """Builds records of one run."""

    def __init__(self, run: Run, sources: Sources, people: dict[str, User]) -> None:
        self.run, self.sources, self.people = run, sources, people
        self.settings = Settings()
        self.new_sites = _sites_without_inspections()
        self.sites = {site.pk: site for site in run.lookups.sites.values()}

    def build(self, row: Row) -> Record | None:
        """The record of an inspections row; None after a fault that leaves nothing to build."""
        device = device_of(self.run, row)
        if device is None or not self.is_right(row):
            return None
        inspection = Inspection(ref=row["ref"], device=device, tag_typed=row["tag"] or "")
        site = self._site(row, device)
        if site is not None and not may_touch(self.run, row, "site", site.pk):
            return None
        inspection.site = site
        inspection.is_baseline = site is None or site.pk in self.new_sites
        self._fill(inspection, row)
        return Record(
            inspection,
            pops_of(self.run, row),
            self.readings(row["ref"], device),
            findings_of(self.sources.findings.get(row["ref"], [])),
        )

    def readings(self, ref: str, device: Device) -> list:
        rows = self.sources.settings.get(ref, [])
        return readings_of(self.run, rows, device, self.settings, self.people)

    def _fill(self, inspection: Inspection, row: Row) -> None:
        for name in PLAIN:
            if row[name] is not None:
                setattr(inspection, name, value_of(row, name, inspection))
        inspection.method = inspection.method or METHODS.get(row["activity"], "")
        inspection.done_on, inspection.done_typed = row.on("done_on"), row.typed("done_on")
        inspection.done_by = self.people[row["done_by"].casefold()]
        inspection.signed_at = self.run.at
        if row["verified_by"]:
            inspection.verified_by = self.people[row["verified_by"].casefold()]
        elif not self.run.options.leave_unverified:
            inspection.accepted_by = self.run.by

    def is_right(self, row: Row) -> bool:
        """Did somebody else verify than the one who did it?"""
        done_by, verified_by = row["done_by"], row["verified_by"]
        if verified_by and verified_by.casefold() == done_by.casefold():
            words = f"a second person; {done_by} did the work"
            self.run.say(row.fault("verified_by", words, code="own_work"))
            return False
        return True

    def _site(self, row: Row, device: Device) -> Site | None:
        """The site the row names; else that of its tag, of its device, of the run."""
        sites = self.run.lookups.sites
        name = row["site"]
        if name:
            if name not in sites:
                self.run.say(row.fault("site", "a site of the register", code="unknown"))
            return sites.get(name)
        tagged: list[Position] = self.run.lookups.positions_by_tag.get(row["tag"] or "", [])
        places = {position.site_id for position in tagged}
        if len(places) == 1:
            return self.sites[next(iter(places))]
        if device.site_id is not None:
            return self.sites[device.site_id]
        return sites.get(self.run.options.site)


def _sites_without_inspections() -> set[int]:
    """Sites for which this is the first load: what it brings is a baseline, not a late entry."""
    known = set(Inspection.objects.order_by().values_list("site", flat=True).distinct())
    return {site for site in Site.objects.values_list("pk", flat=True) if site not in known}
