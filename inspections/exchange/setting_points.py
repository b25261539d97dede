"""The setting_points sheet, and what a setting is called on a model."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from fleet.calc.units import LENGTH, NOTCHES, TURNS
from fleet.exchange import cells
from fleet.exchange.compare import changed, shown, value_of
from fleet.exchange.devices import mention_models
from fleet.exchange.places import model_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.models import Device, Site
from inspections.actions.points import save_points
from inspections.calc.naming import BARE, KNOWN, PRESSURE, plain, synonyms_of, why_not_a_name
from inspections.models import SettingPoint

MEASURED = cells.quantity(NOTCHES, TURNS, LENGTH)
SHEET = Sheet(
    "setting_points",
    ("maker", "model", "setting"),
    (
        Column("maker", cells.telling(120)),
        Column("model", cells.text(120), required=True),
        Column("setting", cells.text(40), required=True),
        Column("measure", cells.word(SettingPoint.Measure.values), required=True),
        Column("datum", cells.text(120), required=True),
        Column("positive", cells.word(SettingPoint.Positive.values), required=True),
        Column("resolution", MEASURED),
        Column("required", cells.yes_no()),
        Column("synonyms", cells.text(200)),
        Column("limit_low", MEASURED),
        Column("limit_high", MEASURED),
        Column("source", cells.text(200)),
    ),
)
PLAIN = tuple(name for name in SHEET.names if name not in SHEET.key)


def load(run: Run, rows: Sequence[Row]) -> None:
    _mention(run, rows)
    known = {(p.model_id, p.setting): p for p in SettingPoint.objects.select_related("model")}
    seen, saved = set(), []
    for row in rows:
        model, setting = model_of(run, row), row["setting"]
        if model is None or not _is_right(run, row):
            continue
        key = (model.pk, setting)
        if key in seen:
            run.say(row.fault("setting", "a setting once for a model", code="duplicate"))
            continue
        seen.add(key)
        point = known.setdefault(key, SettingPoint(model=model, setting=setting))
        names = changed(row, point, PLAIN)
        for name in names:
            setattr(point, name, value_of(row, name, point))
        if names or point.pk is None:
            saved.append((row, point))
    _say_shared_synonyms(run, saved, list(known.values()))
    run.count("setting points saved", len(saved))
    save_points([point for _, point in saved], by=run.by, at=run.at)


def _mention(run: Run, rows: Sequence[Row]) -> None:
    """A model named here alone comes into being too; without a maker only if nobody has it."""
    known = run.lookups.models_by_name
    mention_models(run, [row for row in rows if row["maker"] or row["model"] not in known])


def _is_right(run: Run, row: Row) -> bool:
    setting, before = row["setting"], len(run.report.said)
    if words := why_not_a_name(setting):
        run.say(row.fault("setting", words, code="unknown"))
    for name in ("resolution", "limit_low", "limit_high"):
        if row[name] is not None and row[name].dimension != row["measure"]:
            run.say(row.fault(name, f"a value in {row['measure']}, the measure of this point"))
    return len(run.report.said) == before


def _say_shared_synonyms(run: Run, saved: list, points: list[SettingPoint]) -> None:
    rows = {(point.model_id, point.setting): row for row, point in saved}
    names: dict[tuple[int, str], str] = {}
    for point in points:
        for word in synonyms(point):
            first = names.setdefault((point.model_id, word), point.setting)
            row = rows.get((point.model_id, point.setting)) or rows.get((point.model_id, first))
            if first != point.setting and row is not None:
                words = f"a name for one setting; “{word}” means {first} and {point.setting}"
                run.say(row.fault("synonyms", words, code="contradiction"))


def synonyms(point: SettingPoint) -> list[str]:
    return synonyms_of(point.synonyms)


class Settings:
    """What settings are called, model by model."""

    def __init__(self) -> None:
        self.points: dict[int, dict[str, SettingPoint]] = defaultdict(dict)
        self.synonyms: dict[int, dict[str, str]] = defaultdict(dict)
        for point in SettingPoint.objects.all():
            self.points[point.model_id][point.setting] = point
            for word in synonyms(point):
                self.synonyms[point.model_id][word] = point.setting

    def point(self, device: Device, setting: str) -> SettingPoint | None:
        return self.points.get(device.model_id or 0, {}).get(setting)

    def slug(self, typed: str, device: Device) -> str:
        """The setting a word means on this device. Raises CellError rather than guess."""
        model = device.model_id or 0
        word = plain(typed)
        slug = word.replace(" ", "_")
        if found := self.synonyms.get(model, {}).get(word):
            return found
        if slug == PRESSURE:
            raise cells.CellError(
                typed, "a ring, screw or clearance; pops have columns of their own"
            )
        if slug in self.points.get(model, {}) or slug in KNOWN:
            return slug
        which = device.model or f"the model of {device}"
        if slug in BARE or "ring" in word:
            words = f"which ring? a setting of {which}, or a synonym its setting_points name"
            raise cells.CellError(typed, words)
        own = sorted({*KNOWN, *self.points.get(model, {})})
        raise cells.CellError(typed, "one of " + ", ".join(own))


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    """Models belong to no site: all their points are written."""
    for point in SettingPoint.objects.select_related("model"):
        yield {name: shown(getattr(point, name)) for name in PLAIN} | {
            "maker": point.model.maker,
            "model": point.model.name,
            "setting": point.setting,
        }
