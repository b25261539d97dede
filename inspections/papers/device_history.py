"""The settings history of a device as of a day: on sheets, and as one drawing file.

Both are drawn from the scenes of its page. Beneath each drawing the sheets say the same in figures.
"""

from collections.abc import Iterator

from fleet.drawings.axis import day_words
from fleet.drawings.standalone import Part, standalone
from fleet.models import Device, Installation
from fleet.papers.listing import Cell, Column, Words
from fleet.papers.sheets import Sheets
from inspections.drawings.settings_history import History, settings_history
from inspections.papers.settings_readings import set_flags, set_readings
from inspections.reports.device import DeviceStory
from inspections.reports.panels import panel_of

HOW_TO_READ = (
    "A dot is as found, a ring as left; a solid line is what the device did in service, a dotted"
    " one what the shop did to it. A triangle is outside the band of its day, an arrow did not"
    " lift, a dashed square is not recorded. A double stroke is a cut: nothing is compared across."
)
CAUTION = (
    "It questions a device; it certifies nothing and sets nothing. The records themselves, and"
    " the owner's procedures, rule."
)
NOTHING = "No record of this device is locked yet, so there is nothing to draw."
SPELLS = (
    Column("Position", 130),
    Column("Unit and site", 177.2),
    Column("From", 100),
    Column("To", 100),
)


def pdf(story: DeviceStory) -> bytes:
    """The same records and the same day give the same bytes."""
    title = title_of(story)
    sheets = Sheets(title, f"{title}, as of {day_words(story.as_of)}")
    sheets.heading(title, [_lede(story)])
    sheets.words(f"{HOW_TO_READ} {CAUTION}", "soft")
    _identity(sheets, story.device)
    _service(sheets, story)
    _settings(sheets, story)
    return sheets.end()


def svg(story: DeviceStory) -> str:
    """Every setting over one axis, as on the page; nothing in it opens or loads anything."""
    history = history_of(story)
    parts = [Part(one.panel.title, one.panel.unit, one.scene) for one in history.panels]
    lines = [_named(story.device), _lede(story), HOW_TO_READ]
    return standalone(title_of(story), lines, [*parts, Part("", "", history.head)])


def history_of(story: DeviceStory) -> History:
    """The drawings of the page, opening nothing."""
    panels = [panel_of(row.one, row.point, _nowhere) for row in story.rows]
    return settings_history(panels, story.as_of)


def _nowhere(_ref: str) -> str:
    return ""


def title_of(story: DeviceStory) -> str:
    return f"Settings history of {story.device.number}"


def _named(device: Device) -> str:
    serial = f"serial {device.serial}" if device.serial else "serial not recorded"
    model = str(device.model) if device.model else "model not recorded"
    return f"{model}, {device.get_kind_display()}, {serial}"


def _lede(story: DeviceStory) -> str:
    day, fitted, last = day_words(story.as_of), story.fitted, story.last
    if fitted is not None:
        where = f"fitted at {fitted.position} since {day_words(fitted.installed_on)}"
    elif last is not None and last.removed_on:
        where = f"last at {last.position}, taken out {day_words(last.removed_on)}"
    else:
        where = "fitted nowhere that is seen here" if story.hidden_count else "never fitted"
    return f"As of {day}: {where}.{'' if story.rows else f' {NOTHING}'}"


def _identity(sheets: Sheets, device: Device) -> None:
    sheets.section("Identity")
    spring = " ".join(filter(None, [device.spring, str(device.spring_rate or "")]))
    sheets.facts(
        [
            ("Device", device.number),
            ("Serial", device.serial or "not recorded"),
            ("Model", str(device.model) if device.model else "not recorded"),
            ("Kind", device.get_kind_display()),
            ("Nameplate set", str(device.nameplate_set or "not recorded")),
            ("Inlet and outlet", " to ".join(filter(None, [device.inlet, device.outlet]))),
            ("Orifice", device.orifice),
            ("Seat", device.seat),
            ("Spring", spring),
            ("Spring range", device.spring_range),
            ("Home", str(device.site) if device.site else "no site yet"),
            ("Status", device.get_status_display()),
        ],
        columns=5,
    )


def _service(sheets: Sheets, story: DeviceStory) -> None:
    sheets.section("Where it served")
    if story.spells:
        sheets.table(SPELLS, [list(_spell(spell)) for spell in story.spells])
    elif not story.hidden_count:
        sheets.words("It was never fitted.", "soft")
    if count := story.hidden_count:
        plural = "" if count == 1 else "s"
        sheets.words(f"And {count} spell{plural} at sites that the reader does not see.", "soft")


def _spell(spell: Installation) -> Iterator[Cell]:
    place = spell.position
    yield [Words(str(place), is_bold=True)]
    yield [Words(f"{place.unit}, {place.site}" if place.unit else str(place.site))]
    yield _dated(day_words(spell.installed_on), spell.installed_typed)
    until = day_words(spell.removed_on) if spell.removed_on else "still there"
    yield _dated(until, spell.removed_typed)


def _dated(words: str, typed: str) -> Cell:
    return [Words(words), *([Words(f"typed {typed}", "soft")] if typed else [])]


def _settings(sheets: Sheets, story: DeviceStory) -> None:
    """A drawing, its own axis and the first lines of its figures are never parted."""
    history = history_of(story)
    for row, drawn in zip(story.rows, history.panels, strict=True):
        sheets.section(drawn.panel.title, room=240)
        sheets.words(drawn.panel.unit, "soft")
        sheets.y -= 4
        sheets.drawing(drawn.scene, history.head)
        set_readings(sheets, row)
        set_flags(sheets, row)
