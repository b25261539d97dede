"""The decisions sheet: interval decisions, each of one obligation from a day on."""

from collections.abc import Iterator, Sequence

from fleet.actions import obligations
from fleet.calc.intervals import RuleError
from fleet.exchange import cells, hanging
from fleet.exchange.run import Run
from fleet.exchange.sheets import Column, Row, Sheet
from fleet.models import IntervalDecision, Obligation, Site

DECISIONS = Sheet(
    "decisions",
    ("site", "tag", "activity", "from_on"),
    (
        *hanging.OWNER,
        Column("from_on", cells.day(), required=True),
        Column("interval", cells.duration(), required=True),
        Column("act_by", cells.day()),
        Column("reason", cells.text(), required=True),
        Column("evidence", cells.text()),
        Column("decided_by", cells.person(), required=True),
    ),
)


def load_decisions(run: Run, rows: Sequence[Row]) -> None:
    ordered = []
    for row in rows:
        act_by = row.on("act_by")
        if act_by is None or act_by >= row.on("from_on"):
            ordered.append(row)
        else:
            words = f"no day before the decision holds, {row.on('from_on')}"
            run.say(row.fault("act_by", words, code="contradiction"))

    def accepts(row: Row, owed: Obligation) -> bool:
        return _is_allowed(run, row, owed)

    hanging.load(run, ordered, DECISIONS, IntervalDecision, obligations.decide, accepts)


def _is_allowed(run: Run, row: Row, owed: Obligation) -> bool:
    """May a decision set this interval, by the rule that the obligation is owed under?"""
    try:
        owed.rule.shape.check_interval(row["interval"])
    except RuleError as error:
        words = f"{error.expected} ({owed.rule.code}, {owed.rule.citation})"
        run.say(row.fault("interval", words, code="past_ceiling"))
        return False
    return True


def dump_decisions(site: Site | None) -> Iterator[dict[str, str]]:
    return hanging.dump(site, IntervalDecision, DECISIONS)
