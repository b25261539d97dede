"""The obligations sheet: which activity a position owes, under which rule."""

from collections.abc import Iterator, Sequence
from typing import Any

from fleet.actions import obligations
from fleet.actions.rules import known_rules, rules_in_use
from fleet.calc.activities import ACTIVITIES
from fleet.calc.intervals import RuleError
from fleet.exchange import cells
from fleet.exchange.compare import same, shown
from fleet.exchange.owed_checks import AGED, COUNTED, OwedChecks
from fleet.exchange.places import position_of
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.models import CountsFrom, IntervalRule, Obligation, Site

SHEET = Sheet(
    "obligations",
    ("site", "tag", "activity", "rule"),
    (
        Column("site", cells.telling(120)),
        Column("tag", cells.text(80), required=True),
        Column("activity", cells.word(ACTIVITIES), required=True),
        Column("rule", cells.text(60), required=True),
        Column("counts_from", cells.word(CountsFrom.values)),
        Column("shelf_limit", cells.duration()),
        Column("season", cells.text(5)),
        Column("group", cells.text(80)),
        Column("from_on", cells.day()),
        Column("until_on", cells.day()),
        Column("note", cells.text()),
    ),
)
PLAIN = ("counts_from", "shelf_limit", "season", "group", "from_on", "until_on", "note")


def load(run: Run, rows: Sequence[Row]) -> None:
    rules, checks = _rules(run, rows), OwedChecks(run)
    known = {
        (row.position_id, row.activity, row.rule_id): row
        for row in Obligation.objects.iterator(chunk_size=5000)
    }
    fresh, ending = [], []
    for row in rows:
        position, rule = position_of(run, row), rules.get(row["rule"])
        if position is None or rule is None or not _is_in_order(run, row):
            continue
        key = (position.pk, row["activity"], rule.pk)
        stored = known.get(key)
        if stored is None:
            owed = _new(row, position, rule)
            if checks.are_right(row, owed):
                known[key] = owed
                fresh.append((row, owed))
        elif stored.pk is None:
            words = "an activity once under a rule at a position"
            run.say(row.fault("activity", words, code="duplicate"))
        elif _is_ending(run, row, stored):
            stored.position = position
            ending.append((row, stored))
    obligations.owe([row for _, row in fresh], by=run.by, at=run.at)
    ends = [(stored, row.on("until_on")) for row, stored in ending]
    obligations.end(ends, by=run.by, at=run.at)
    checks.say_emptied_groups(ending)
    run.count("obligations added", len(fresh))
    run.count("obligations ended", len(ending))
    run.touched.update(row.position_id for _, row in [*fresh, *ending])
    for row, owed in fresh:
        if owed.rule.kind in (AGED, COUNTED):
            run.wrote(row, owed)


def _rules(run: Run, rows: Sequence[Row]) -> dict[str, IntervalRule]:
    """The rules that rows name, taken into use; unknown ones and those not built are faults."""
    found = rules_in_use({row["rule"] for row in rows}, by=run.by, at=run.at)
    usable, problems = {}, {}
    for code, rule in found.items():
        try:
            _ = rule.shape
            usable[code] = rule
        except RuleError as error:
            problems[code] = f"a rule that can be computed here: {error}"
    for row in rows:
        if row["rule"] not in usable and not run.is_broken("rule", row["rule"]):
            words = problems.get(row["rule"]) or "one of " + ", ".join(known_rules())
            run.say(row.fault("rule", words, code="unknown"))
    return usable


def _is_in_order(run: Run, row: Row) -> bool:
    begins, ends = row.on("from_on"), row.on("until_on")
    if begins is None or ends is None or begins < ends:
        return True
    run.say(row.fault("until_on", f"a day after from_on, {begins}", code="contradiction"))
    return False


def _new(row: Row, position: Any, rule: IntervalRule) -> Obligation:
    return Obligation(
        position=position,
        activity=row["activity"],
        rule=rule,
        counts_from=row["counts_from"] or CountsFrom.DONE_ON,
        shelf_limit=row.text("shelf_limit"),
        season=row["season"] or "",
        group=row["group"] or "",
        from_on=row.on("from_on"),
        until_on=row.on("until_on"),
        note=row["note"] or "",
    )


def _is_ending(run: Run, row: Row, stored: Obligation) -> bool:
    """True where the row ends what is owed; a fault where it changes anything else."""
    for name in PLAIN:
        value = row.on(name) if name.endswith("_on") else row.text(name)
        value = CountsFrom.DONE_ON if name == "counts_from" and not value else value
        closes = name == "until_on" and stored.until_on is None
        if row.given(name) and not closes and not same(value, getattr(stored, name)):
            held = shown(getattr(stored, name)) or "empty"
            words = f"{held}, as recorded: end this obligation and add another"
            run.say(row.fault(name, words, code="dated_fact"))
            return False
    return stored.until_on is None and row.on("until_on") is not None


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    rows = Obligation.objects.select_related("position__site", "rule")
    rows = rows.filter(position__site=site) if site else rows
    for owed in rows.iterator(chunk_size=2000):
        yield {name: shown(getattr(owed, name)) for name in PLAIN} | {
            "site": owed.position.site.name,
            "tag": owed.position.tag,
            "activity": owed.activity,
            "rule": owed.rule.code,
        }
