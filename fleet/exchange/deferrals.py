"""The deferrals sheet. What people once gave leave for is history: where it broke its policy it
loads all the same, and what it broke is said."""

from collections.abc import Iterator, Sequence

from fleet.actions import obligations
from fleet.actions.leave import leave_of, records_of
from fleet.actions.replacing import same_leave
from fleet.calc.deferrals import POLICIES, Breach
from fleet.exchange import cells, hanging
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.faults import NOTE
from fleet.models import Deferral, Obligation, ObligationSpan, Site

DEFERRALS = Sheet(
    "deferrals",
    ("site", "tag", "activity", "due_on"),
    (
        *hanging.OWNER,
        Column("due_on", cells.day(), required=True),
        Column("until_on", cells.day(), required=True),
        Column("policy", cells.word(Deferral.Policy.values), required=True),
        Column("reason", cells.text(), required=True),
        Column("interim_measure", cells.text()),
        Column("document", cells.text(200)),
        Column("notified_on", cells.day(past=True)),
        Column("approved_by", cells.person(), required=True),
        Column("approved_on", cells.day(past=True), required=True),
    ),
)


def load_deferrals(run: Run, rows: Sequence[Row]) -> None:
    ordered = []
    for row in rows:
        if row.on("until_on") > row.on("due_on"):
            ordered.append(row)
        else:
            words = f"a day after the due date it passes, {row.on('due_on')}"
            run.say(row.fault("until_on", words, code="contradiction"))
    hanging.load(run, ordered, DEFERRALS, Deferral, obligations.defer)
    written = [deferral for _, deferral in run.written.get(DEFERRALS.name, [])]
    before = [leave for deferral in written for leave in _under_former_rules(deferral)]
    obligations.defer(before, by=run.by, at=run.at)


def _under_former_rules(deferral: Deferral) -> Iterator[Deferral]:
    """Leave given before its rule replaced another was given under that one, and went on: what
    the sheet says in one row is recorded for both, as when the rule was replaced here."""
    owed = deferral.obligation
    while owed.rule.replaces_id and owed.from_on and deferral.approved_on < owed.from_on:
        former = Obligation.objects.filter(
            position=owed.position_id,
            activity=owed.activity,
            rule=owed.rule.replaces_id,
            until_on=owed.from_on,
        ).exclude(deferrals__due_on=deferral.due_on)
        found = former.select_related("rule").first()
        if found is None:
            return
        owed = found
        leave = same_leave(deferral)
        leave.obligation = owed
        yield leave


def breaches_of(run: Run) -> Iterator[tuple[Row, Deferral, Breach]]:
    """What the deferrals of this run break of their policies. Ask when its due dates are in."""
    written = run.written.get(DEFERRALS.name, [])
    records = records_of({deferral.obligation_id for _, deferral in written})
    for row, deferral in written:
        leave = leave_of(deferral, deferral.approved_on)
        for breach in records[deferral.obligation_id].breaches(leave, own=deferral.pk):
            yield row, deferral, breach
        if row["approved_by"].casefold() == cells.NOT_RECORDED:
            policy = POLICIES[deferral.policy]
            words = f"{policy.name} names who approved it ({policy.source})"
            yield row, deferral, Breach("approved_by", "approver_missing", words)


def say_idle_deferrals(run: Run) -> None:
    """A deferral of a day that no clock gives defers nothing, and must not be believed to. Ask
    when the due dates of the run are in."""
    for row, deferral in run.written.get(DEFERRALS.name, []):
        spans = ObligationSpan.objects.known().filter(obligation=deferral.obligation_id)
        if not spans.filter(due_on=deferral.due_on).exists():
            given = spans.exclude(due_on=None).order_by("due_on").values_list("due_on", flat=True)
            days = ", ".join(str(day) for day in given.distinct()) or "none yet"
            words = f"defers nothing: no due date of this obligation; there are {days}"
            run.say(row.fault("due_on", words, severity=NOTE, code="idle_deferral"))


def dump_deferrals(site: Site | None) -> Iterator[dict[str, str]]:
    return hanging.dump(site, Deferral, DEFERRALS)
