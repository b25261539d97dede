"""The rule library and the site's own rules: what each says, and where it is in use."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from django.db.models import Count, Q

from fleet.calc import library
from fleet.calc.examples import Example
from fleet.calc.intervals import OUT_OF_SERVICE, STOP, AfterEvent, Shape, Usage, shape_from
from fleet.models import DueLine, IntervalRule, Obligation, User
from fleet.reports.reasons import activity_words

OWN = "own"
FIELDS = {  # what a rule of the library is about, by how its id begins
    "pipelines": ("us-49cfr192", "us-49cfr193", "us-49cfr195"),
    "marine": ("us-33cfr", "us-46cfr", "us-30cfr250"),
    "boilers": ("us-49cfr230", "nbic-boiler", "nbic-steam", "nbic-heating"),
    "process": ("us-40cfr63", "api510", "nbic-air", "nbic-disc", "nbic-propane", "by-history"),
    "nuclear": ("om-",),
    "tanks": ("us-49cfr180",),
}
FIELD_WORDS = {
    OWN: "The site's own",
    "pipelines": "Pipelines and liquefied natural gas",
    "marine": "Marine and offshore",
    "boilers": "Boilers",
    "process": "Process plant",
    "nuclear": "Nuclear",
    "tanks": "Cargo and rail tanks",
}
FIELDS_SHORT = (
    (OWN, "our own"),
    *((field, words.partition(" and ")[0]) for field, words in FIELD_WORDS.items() if field != OWN),
)
KIND_WORDS = {
    "max_gap": "no more than so long apart",
    "calendar": "by calendar year or month",
    "rolling": "so many in any window",
    "capped": "a target under a cap",
    "age_steps": "shorter with age",
    "usage": "by a counter of use",
    "after_event": "after something happened",
    "before_use": "before a season of use",
    "group_sample": "a share of a group",
    "by_history": "as decided from its history",
}
COLUMNS = (
    *("id", "field", "kind", "words", "conditions", "citation", "edition", "checked"),
    *("activities", "positions", "replaces", "replaced_by", "from_on", "note"),
)


@dataclass(frozen=True)
class Asked:
    """What the library was asked; empty asks for everything."""

    field: str = ""
    kind: str = ""
    activity: str = ""
    checked: str = ""
    used: str = ""
    find: str = ""


@dataclass(frozen=True)
class RuleRow:
    """One rule. pk: in the register, None while it is in use nowhere. positions: at the reader's
    sites. replaces, replaced_by: ids."""

    code: str
    kind: str
    shape: Shape
    citation: str
    edition: str
    is_verified: bool
    note: str
    activities: tuple[str, ...]
    field: str
    positions: int
    pk: int | None = None
    from_on: date | None = None
    replaces: str = ""
    replaced_by: str = ""
    replaced_on: date | None = None

    @property
    def is_own(self) -> bool:
        return self.field == OWN

    @property
    def words(self) -> str:
        words = self.shape.words()
        return words[0].upper() + words[1:]

    @property
    def exceptions(self) -> list[str]:
        """Its conditions where they are not the common ones."""
        return [words for words in self.shape.conditions() if words != OUT_OF_SERVICE[STOP]]

    @property
    def kind_words(self) -> str:
        return KIND_WORDS[self.kind]

    @property
    def checked(self) -> tuple[str, str]:
        """The state of its citation, and the words for it."""
        if self.is_verified:
            return "checked", "checked against a copy"
        return ("from_memory", "not checked" if self.is_own else "from memory")

    @property
    def activities_words(self) -> str:
        return ", ".join(map(activity_words, self.activities))

    @cached_property
    def example(self) -> Example | None:
        """The library's own example; for a site's own rule, days that suit its kind."""
        return example_of(self.code, self.kind, self.shape)

    def as_dict(self) -> dict[str, Any]:
        return {
            "id": self.code,
            "field": self.field,
            "kind": self.kind,
            "words": self.shape.words(),
            "conditions": "; ".join(self.shape.conditions()),
            "citation": self.citation,
            "edition": self.edition,
            "checked": self.is_verified,
            "activities": list(self.activities),
            "positions": self.positions,
            "replaces": self.replaces,
            "replaced_by": self.replaced_by,
            "from_on": self.from_on,
            "note": self.note,
        }


def field_of(code: str) -> str:
    """What a rule of the library is about. A rule without a field is a mistake: KeyError."""
    for field, beginnings in FIELDS.items():
        if code.startswith(beginnings):
            return field
    raise KeyError(code)


def kinds() -> list[tuple[str, str, str]]:
    """(kind, words, such as) of every way a rule can count, told by the library's first of it."""
    first: dict[str, str] = {}
    for row in library.rules().values():
        first.setdefault(row.kind, row.shape.words())
    return [(kind, words, f"such as: {first[kind]}") for kind, words in KIND_WORDS.items()]


def example_of(code: str, kind: str, shape: Shape) -> Example | None:
    rules = library.rules()
    if code in rules:
        return rules[code].example
    alike = next((rule.example for rule in rules.values() if rule.kind == kind), None)
    if alike is None:
        return None
    if isinstance(shape, Usage):
        readings = tuple(row._replace(counter=shape.counter) for row in alike.readings)
        return Example(alike.today, None, alike.done, readings=readings)
    if isinstance(shape, AfterEvent):
        triggers = tuple(row._replace(kind=shape.kinds[0]) for row in alike.triggers)
        return Example(alike.today, None, alike.done, triggers=triggers)
    return alike


def rule_rows(user: User, today: date) -> list[RuleRow]:
    """Every rule, the site's own first, then by field. Three queries."""
    positions, activities = _in_use(user, today)
    register = {rule.code: rule for rule in IntervalRule.objects.select_related("replaces")}
    replaced = {rule.replaces.code: rule for rule in register.values() if rule.replaces}
    known = library.rules()
    rows = [
        _row(code, register.get(code), positions[code], activities[code], replaced.get(code))
        for code in sorted(register.keys() - known.keys()) + list(known)
    ]
    order = list(FIELD_WORDS)
    return sorted(rows, key=lambda row: (order.index(row.field), bool(row.replaced_by)))


def _in_use(user: User, today: date) -> tuple[dict[str, int], dict[str, list[str]]]:
    """By rule: how many positions owe under it, and which activities; at the reader's sites."""
    owed = Obligation.objects.visible_to(user).filter(Q(until_on=None) | Q(until_on__gt=today))
    by_rule = owed.order_by().values_list("rule__code")
    positions: dict[str, int] = defaultdict(int)
    positions.update(by_rule.annotate(Count("position", distinct=True)))
    activities: dict[str, list[str]] = defaultdict(list)
    for code, activity in owed.order_by().values_list("rule__code", "activity").distinct():
        activities[code].append(activity)
    return positions, activities


def _row(
    code: str,
    rule: IntervalRule | None,
    positions: int,
    activities: list[str],
    replaced_by: IntervalRule | None,
) -> RuleRow:
    """Under the library's citation where it has one: it may have been checked since its use."""
    known = library.rules().get(code)
    source = known or rule
    assert source is not None
    hinted = known.activities if known else ()
    return RuleRow(
        code=code,
        kind=rule.kind if rule else source.kind,
        shape=rule.shape if rule else shape_from(source.kind, source.parameters),
        citation=source.citation,
        edition=source.edition,
        is_verified=known.verified if known else bool(rule and rule.is_verified),
        note=known.note if known else "",
        activities=(*hinted, *sorted(set(activities) - set(hinted))),
        field=field_of(code) if known else OWN,
        positions=positions,
        pk=rule.pk if rule else None,
        from_on=rule.from_on if rule else None,
        replaces=rule.replaces.code if rule and rule.replaces else "",
        replaced_by=replaced_by.code if replaced_by else "",
        replaced_on=replaced_by.from_on if replaced_by else None,
    )


def matching(rows: Iterable[RuleRow], asked: Asked) -> list[RuleRow]:
    """The rows that fit everything that was asked."""
    return [row for row in rows if _fits(row, asked)]


def _fits(row: RuleRow, asked: Asked) -> bool:
    text = f"{row.code} {row.words} {row.citation} {row.note}".casefold()
    return (
        asked.field in ("", row.field)
        and asked.kind in ("", row.kind)
        and (not asked.activity or asked.activity in row.activities)
        and (not asked.checked or (asked.checked == "yes") == row.is_verified)
        and (not asked.used or (asked.used == "yes") == bool(row.positions))
        and all(word in text for word in asked.find.casefold().split())
    )


def by_field(rows: Iterable[RuleRow]) -> list[tuple[str, list[RuleRow]]]:
    """(words, rows) of each field that has any, in the order of the library."""
    groups: dict[str, list[RuleRow]] = defaultdict(list)
    for row in rows:
        groups[row.field].append(row)
    return [(words, groups[field]) for field, words in FIELD_WORDS.items() if field in groups]


def lines_under(code: str, user: User, limit: int) -> list[DueLine]:
    """Where it is owed today, what is due first first."""
    lines = DueLine.objects.visible_to(user).filter(obligation__rule__code=code)
    return list(lines.select_related("position").order_by("order_on", "pk")[:limit])
