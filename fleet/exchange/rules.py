"""The rules sheet: the owner's own interval rules. Those of the library come by being named.

A rule in use is never rewritten and never taken away: an edit is a row with a new id that
`replaces` the old one from a day on, and leaving a row out changes nothing. What is owed under the
old rule then moves: earlier days keep it, and decisions still in force go on under the new one.
"""

from collections.abc import Iterator, Sequence

from fleet.actions import rules
from fleet.audit import canonical
from fleet.calc import library
from fleet.calc.intervals import RuleError, shape_from
from fleet.exchange import cells, sourced
from fleet.exchange.compare import shown
from fleet.exchange.json_cells import json_object
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.faults import Refused
from fleet.models import IntervalRule, Obligation, Site

SHEET = Sheet(
    "rules",
    ("id",),
    (
        Column("id", cells.telling(60), required=True),
        Column("replaces", cells.telling(60)),
        Column("kind", cells.text(20)),
        Column("parameters", json_object()),
        Column("citation", cells.text(200)),
        Column("edition", cells.text(80)),
        Column("from_on", cells.day()),
    ),
)
NOUN = "rule"
PLAIN = ("citation", "edition", "from_on")


def load(run: Run, rows: Sequence[Row]) -> None:
    known = {rule.code: rule for rule in IntervalRule.objects.select_related("replaces")}
    fresh = {}
    for row in sourced.once(run, rows):
        stored = known.get(row["id"]) or _of_library(row["id"])
        rule = _built(run, row, stored)
        if rule is not None and stored is None:
            fresh[row["id"]] = (row, rule)
        elif rule is not None and stored is not None:
            sourced.refuse(run, NOUN, row, _says_otherwise(row, rule, stored))
    moved, added = 0, 0
    for row, rule in sourced.in_turn(run, NOUN, fresh, lambda code: _is_known(code, known)):
        if run.is_broken(NOUN, row["replaces"]):
            run.mark_broken(NOUN, row["id"])
            continue
        moved += _write(run, row, rule)
        added += not run.is_broken(NOUN, row["id"])
    run.count("rules added", added)
    run.count("obligations moved to another rule", moved)


def _is_known(code: str, known: dict[str, IntervalRule]) -> bool:
    return code in known or code in library.rules()


def _of_library(code: str) -> IntervalRule | None:
    """A rule of the library that nothing has named yet, unsaved."""
    row = library.rules().get(code)
    if row is None:
        return None
    return IntervalRule(
        code=code,
        kind=row.kind,
        parameters=row.parameters,
        citation=row.citation,
        edition=row.edition,
    )


def _built(run: Run, row: Row, stored: IntervalRule | None) -> IntervalRule | None:
    """The rule of a row, unsaved; what it leaves out of a known rule is as it was."""
    kind, parameters = row["kind"], row["parameters"]
    if stored is not None:
        kind = kind or stored.kind
        parameters = stored.parameters if parameters is None else parameters
    rule = IntervalRule(code=row["id"], kind=kind or "", parameters=parameters or {})
    rule.citation, rule.edition = row["citation"] or "", row["edition"] or ""
    rule.from_on = row.on("from_on")
    try:
        _ = rule.shape
    except RuleError as error:
        column = "kind" if error.field == "kind" else "parameters"
        words = f"expected {error.expected}"
        words += "" if column == "kind" else f", for {error.field}"
        fault = row.fault(column, words, typed=error.typed, code="rule")
        sourced.refuse(run, NOUN, row, [fault])
        return None
    return rule


def _says_otherwise(row: Row, rule: IntervalRule, stored: IntervalRule) -> Iterator:
    """The same rule may be written in other words; another rule needs an id of its own."""
    yield from sourced.cleared(row, ("kind", "parameters"))
    if stored.kind != rule.kind:
        yield row.fault("kind", sourced.never_rewritten(stored.kind), code="dated_fact")
    elif shape_from(stored.kind, stored.parameters) != rule.shape:
        words = sourced.never_rewritten(canonical(stored.parameters))
        typed = canonical(row["parameters"])
        yield row.fault("parameters", words, typed=typed, code="dated_fact")
    old = stored.replaces.code if stored.replaces else ""
    if row.given("replaces") and row["replaces"] != old:
        yield row.fault("replaces", sourced.never_rewritten(old), code="dated_fact")
    yield from sourced.differences(row, stored, PLAIN)


def _write(run: Run, row: Row, rule: IntervalRule) -> int:
    """Write one rule. Returns how many obligations moved to it."""
    sourced.say_unsourced(run, row)
    places: set[int] = set()
    try:
        if not row["replaces"]:
            rules.add_rules([rule], by=run.by, at=run.at)
        elif rule.from_on is None:
            words = f"the day from which it replaces {row['replaces']}"
            raise Refused([row.fault("from_on", words, code="contradiction")])
        else:
            old = rules.rules_in_use([row["replaces"]], by=run.by, at=run.at)[row["replaces"]]
            _refuse_of_others(run, row, old)
            places = rules.replace_rule(old, rule, rule.from_on, by=run.by, at=run.at, replay=False)
    except Refused as refused:
        sourced.refuse(run, NOUN, row, refused.faults)
        return 0
    run.touched.update(places)
    return Obligation.objects.filter(rule=rule).count()


def _refuse_of_others(run: Run, row: Row, old: IntervalRule) -> None:
    """Nothing that another site owes is moved from here. Raises Refused."""
    only = run.options.only_site
    owed = Obligation.objects.filter(rule=old, until_on=None).exclude(position__site=only)
    if only is not None and owed.exists():
        words = f"a rule that no other site than {only.name} lives under"
        raise Refused([row.fault("replaces", words, code="other_site")])


def dump(site: Site | None) -> Iterator[dict[str, str]]:
    """The owner's own rules, whatever the site: they belong to no one site."""
    for rule in IntervalRule.objects.exclude(code__in=library.rules()).select_related("replaces"):
        yield {
            "id": rule.code,
            "replaces": rule.replaces.code if rule.replaces else "",
            "kind": rule.kind,
            "parameters": canonical(rule.parameters),
            "citation": rule.citation,
            "edition": rule.edition,
            "from_on": shown(rule.from_on),
        }
