"""What has happened so far: devices, spells, records. The only place that fits and pulls."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date

from inspections.demo.devices import Device
from inspections.demo.dice import Dice
from inspections.demo.people import inspectors, mechanics
from inspections.demo.plant import AS_OF, Group, Position


@dataclass
class Spell:
    position: Position
    device: Device
    installed_on: date
    by: str
    removed_on: date | None = None
    override_reason: str = ""

    def holds(self, on: date) -> bool:
        return self.installed_on <= on and (self.removed_on is None or on < self.removed_on)


@dataclass
class Record:
    """One inspection with its settings and findings; `tag` is what its sheet says."""

    device: Device
    activity: str
    done_on: date
    tag: str = ""
    fields: dict[str, object] = field(default_factory=dict)
    settings: list[dict[str, object]] = field(default_factory=list)
    findings: list[dict[str, object]] = field(default_factory=list)
    ref: str = ""

    @property
    def site(self) -> str:
        return self.device.group.site

    def setting(self, name: str, stage: str) -> dict[str, object]:
        rows = (r for r in self.settings if (r["setting"], r["stage"]) == (name, stage))
        return next(rows)

    def find(self, part: str, condition: str, **more: str) -> None:
        self.findings.append({"part": part, "condition": condition, **more})


class World:
    def __init__(self) -> None:
        self.devices: list[Device] = []
        self.spells: list[Spell] = []
        self.records: list[Record] = []
        self._open: dict[str, Spell] = {}

    def fit(self, device: Device, position: Position, on: date) -> Spell:
        if device.at is not None or position.tag in self._open:
            raise ValueError(f"{device.number} cannot go into {position.tag} on {on}")
        by = Dice("fit", position.tag, on).pick(mechanics(position.site))
        spell = Spell(position, device, on, by)
        self.spells.append(spell)
        self._open[position.tag] = spell
        device.at = position
        return spell

    def pull(self, position: Position, on: date) -> Device:
        spell = self._open.pop(position.tag)
        if on <= spell.installed_on or on > AS_OF:
            raise ValueError(f"{position.tag} cannot be emptied on {on}")
        spell.removed_on = on
        spell.device.at = None
        return spell.device

    def swap(self, position: Position, device: Device, on: date) -> Device:
        """The device that came out; another went in on the same day."""
        out = self.pull(position, on)
        self.fit(device, position, on)
        return out

    def fitted(self, position: Position, on: date) -> Device:
        """What stood there that day; an error where nothing did."""
        spells = (s for s in self.spells if s.position == position and s.holds(on))
        return next(spells).device

    def spell_at(self, tag: str) -> Spell:
        return self._open[tag]

    def spares(self, group: Group) -> list[Device]:
        """Those on the shelf, the one that has lain longest first."""
        idle = (d for d in self.devices if d.group is group and d.at is None)
        ready = (d for d in idle if d.status == "available")
        return sorted(ready, key=lambda d: (d.ready_on, d.number))

    def record(self, record: Record) -> Record:
        if record.done_on > AS_OF:
            raise ValueError(f"{record.device.number} {record.activity} on {record.done_on}")
        dice = Dice("people", record.device.number, record.activity, record.done_on)
        by_default = {
            "done_by": dice.pick(mechanics(record.site)),
            "verified_by": dice.pick(inspectors(record.site)),
            "signed_on": min(
                AS_OF, record.done_on.fromordinal(record.done_on.toordinal() + dice.whole(0, 4))
            ),
        }
        record.fields = {**by_default, **record.fields}
        self.records.append(record)
        return record


def installation_row(spell: Spell) -> dict[str, object]:
    return {
        "site": spell.position.site,
        "tag": spell.position.tag,
        "device": spell.device.number,
        "installed_on": spell.installed_on,
        "removed_on": spell.removed_on,
        "override_reason": spell.override_reason,
        "by": spell.by,
    }


def number_records(records: list[Record]) -> None:
    """Refs W<year>-<number in the year>, in the order the work was done; certificates follow.

    What is kept in another book than the works' has its own letter, and its own count.
    """
    records.sort(key=lambda r: (r.done_on, r.device.number, r.activity))
    count: Counter[tuple[str, int]] = Counter()
    for record in records:
        series, year = record.device.group.series, record.done_on.year
        count[series, year] += 1
        record.ref = f"{series}{year % 100}-{count[series, year]:04d}"
        if record.fields.get("shop"):
            letter = "C" if series == "W" else f"C{series}"
            record.fields.setdefault("certificate", letter + record.ref[1:])


def inspection_row(record: Record) -> dict[str, object]:
    return {
        "ref": record.ref,
        "site": record.site,
        "tag": record.tag,
        "device": record.device.number,
        "activity": record.activity,
        "done_on": record.done_on,
        **record.fields,
    }
