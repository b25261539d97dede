"""The installations sheet: which device stood where, over which days."""

from collections.abc import Iterator, Sequence

from fleet.actions import devices, installations
from fleet.exchange import cells
from fleet.exchange.compare import same, shown
from fleet.exchange.people import people_of
from fleet.exchange.places import device_of, position_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.faults import NOTE
from fleet.models import Installation, Site, User

SHEET = Sheet(
    "installations",
    ("site", "tag", "installed_on"),
    (
        Column("site", cells.telling(120)),
        Column("tag", cells.text(80), required=True),
        Column("device", cells.text(80), required=True),
        Column("installed_on", cells.day(partial=True, past=True), required=True),
        Column("removed_on", cells.day(partial=True, past=True)),
        Column("override_reason", cells.telling()),
        Column("by", cells.person()),
    ),
)


def load(run: Run, rows: Sequence[Row]) -> None:
    people = people_of(run, rows, "by")
    known, taken_back = _stored(), _taken_back()
    fresh: list[tuple[Row, Installation]] = []
    closing: list[tuple[Row, Installation]] = []
    for row in rows:
        spell = _spell(run, row, people)
        if spell is None:
            continue
        key = (spell.position_id, spell.installed_on)
        if key not in known and (*key, spell.device_id) in taken_back:
            words = "a fitting not taken back as a mistake: this one was, and is left out"
            run.say(row.fault("installed_on", words, severity=NOTE, code="taken_back"))
            continue
        stored = known.setdefault(key, spell)
        if stored is spell:
            fresh.append((row, spell))
        elif stored.pk is None:
            run.say(row.fault("installed_on", "a tag and day once", code="duplicate"))
        elif _is_closing(run, row, stored, spell):
            closing.append((row, stored))
    clash = _say_clashes(run, known, [*fresh, *closing])
    if not clash:
        _write(run, fresh, closing)


def _stored() -> dict[tuple[int, object], Installation]:
    rows = Installation.objects.select_related("device", "position")
    return {(row.position_id, row.installed_on): row for row in rows.iterator(chunk_size=5000)}


def _taken_back() -> set[tuple[int, object, int]]:
    """Fittings voided as mistakes: the sheet they came from must not bring them back."""
    rows = Installation.everything.exclude(voided_at=None)
    return set(rows.values_list("position", "installed_on", "device"))


def _spell(run: Run, row: Row, people: dict[str, User]) -> Installation | None:
    position, device = position_of(run, row), device_of(run, row)
    if position is None or device is None:
        return None
    installed_on, removed_on = row.on("installed_on"), row.on("removed_on")
    if removed_on is not None and removed_on <= installed_on:
        words = f"a day after the installation on {row['installed_on']}"
        run.say(row.fault("removed_on", words, code="removed_before_installed"))
        return None
    return Installation(
        position=position,
        device=device,
        installed_on=installed_on,
        installed_typed=row.typed("installed_on"),
        removed_on=removed_on,
        removed_typed=row.typed("removed_on"),
        override_reason=row["override_reason"] or "",
        fitted_by=people.get((row["by"] or "").casefold()),
    )


def _is_closing(run: Run, row: Row, stored: Installation, spell: Installation) -> bool:
    """True where the row ends a spell that stands; a fault where it changes anything else."""
    facts = {
        "device": same(spell.device, stored.device),
        "override_reason": same(spell.override_reason, stored.override_reason),
        "by": same(spell.fitted_by_id, stored.fitted_by_id),
    }
    if stored.removed_on is not None:
        facts["removed_on"] = same(spell.removed_on, stored.removed_on)
    for name, is_same in facts.items():
        if row.given(name) and not is_same:
            held = getattr(stored, {"by": "fitted_by"}.get(name, name))
            words = f"{shown(held) or 'empty'}, as recorded: an installation is never rewritten"
            run.say(row.fault(name, words, code="dated_fact"))
            return False
    if stored.removed_on is None and spell.removed_on is not None:
        stored.removed_on, stored.removed_typed = spell.removed_on, spell.removed_typed
        return True
    return False


def _say_clashes(
    run: Run, known: dict, written: list[tuple[Row, Installation]]
) -> list[installations.Clash]:
    """Faults for spells that overlap; the row at fault is the later one that this run writes."""
    rows = {id(spell): row for row, spell in written}
    found = installations.clashes(known.values()) if written else []
    for late, soon, noun in found:
        row = rows.get(id(late)) or rows.get(id(soon))
        if row is None:
            continue
        end = f"to {soon.removed_on}" if soon.removed_on else "and was not removed"
        words = (
            f"{late.device} goes in at {late.position} on {late.installed_on}, but"
            f" {soon.device} stood at {soon.position} from {soon.installed_on} {end}"
        )
        code = "overlap" if noun == "position" else "device_in_two_places"
        run.say(row.fault("installed_on", words, code=code))
    return found


def _write(run: Run, fresh: list, closing: list) -> None:
    ends = [(spell, spell.removed_on, spell.removed_typed) for _, spell in closing]
    installations.remove(ends, by=run.by, at=run.at)  # first, so that what follows fits
    installations.fit([spell for _, spell in fresh], by=run.by, at=run.at)
    run.count("installations added", len(fresh))
    run.count("installations ended", len(closing))
    homeless = {}
    for row, spell in [*fresh, *closing]:
        run.wrote(row, spell)
        run.moved_devices.add(spell.device_id)
        run.touched.add(spell.position_id)
        if spell.device.site_id is None:
            spell.device.site_id = spell.position.site_id
            homeless[spell.device_id] = spell.device
    devices.update_devices(list(homeless.values()), by=run.by, at=run.at, fields=["site"])


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    rows = Installation.objects.select_related("position__site", "device", "fitted_by")
    rows = rows.filter(position__site=site) if site else rows
    for spell in rows.iterator(chunk_size=2000):
        yield {
            "site": spell.position.site.name,
            "tag": spell.position.tag,
            "device": spell.device.number,
            "installed_on": spell.installed_typed or shown(spell.installed_on),
            "removed_on": spell.removed_typed or shown(spell.removed_on),
            "override_reason": spell.override_reason,
            "by": spell.fitted_by.name if spell.fitted_by else "",
        }
