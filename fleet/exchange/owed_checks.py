"""What a row of the obligations sheet must say under its rule, and what is only told about it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from fleet.actions.owing import contradictions, other_rule
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.faults import NOTE
from fleet.models import CounterReading, IntervalRule, Obligation

AGED, COUNTED = "age_steps", "usage"
CHUNK = 1000


class OwedChecks:
    """Checks new obligations against their rule, its successor, and others of their group."""

    def __init__(self, run: Run) -> None:
        self.run = run
        replaced = IntervalRule.objects.exclude(replaces=None)
        self.successors = {rule.replaces_id: rule for rule in replaced}
        self.groups: dict[tuple[int, str, str], list[Obligation]] = defaultdict(list)
        grouped = Obligation.objects.exclude(group="").select_related("position", "rule")
        for owed in grouped.iterator(chunk_size=5000):
            self.groups[_group(owed)].append(owed)

    def are_right(self, row: Row, owed: Obligation) -> bool:
        """False where the row contradicts its rule or its group, which is said."""
        faults = contradictions(owed)
        for fault in faults:
            self.run.say(replace(fault, sheet=row.sheet, row=row.number))
        if faults or not self._is_in_force(row, owed):
            return False
        return not owed.group or self._is_of_one_rule(row, owed)

    def _is_in_force(self, row: Row, owed: Obligation) -> bool:
        """What was replaced is owed no more, unless the row says until when it was."""
        after = self.successors.get(owed.rule_id)
        if after is None or owed.until_on is not None:
            return True
        words = f"{after}, which replaced it from {after.from_on}; or until_on, the day it ended"
        self.run.say(row.fault("rule", words, code="replaced"))
        return False

    def _is_of_one_rule(self, row: Row, owed: Obligation) -> bool:
        others = self.groups[_group(owed)]
        other = other_rule(owed, others)
        if other is not None:
            words = f"a group under one rule; {other.position} owes this in it under {other.rule}"
            self.run.say(row.fault("group", words, code="contradiction"))
            return False
        others.append(owed)
        return True

    def say_emptied_groups(self, ending: Sequence[tuple[Row, Obligation]]) -> None:
        """Told where the last one leaves a sampled group: nothing more is owed for it."""
        ends = {owed.pk: owed.until_on for _, owed in ending}
        last = {(_group(owed), owed.rule_id): (row, owed) for row, owed in ending if owed.group}
        for (group, rule), (row, owed) in last.items():
            members = [other for other in self.groups[group] if other.rule_id == rule]
            if all(ends.get(other.pk) or other.until_on for other in members):
                words = f"somebody to stay in group {owed.group}: nobody is in it any more"
                self.run.say(row.fault("until_on", words, severity=NOTE, code="group_emptied"))


def _group(owed: Obligation) -> tuple[int, str, str]:
    return (owed.position.site_id, owed.activity, owed.group)


def say_unread_counters(run: Run) -> None:
    """A rule that counts use gives no date where nobody reads the counter. Ask at the end."""
    counted = [
        (row, owed) for row, owed in run.written.get("obligations", []) if owed.rule.kind == COUNTED
    ]
    places, are_read = sorted({owed.position_id for _, owed in counted}), set()
    for start in range(0, len(places), CHUNK):
        rows = CounterReading.objects.filter(position__in=places[start : start + CHUNK])
        are_read.update(rows.values_list("position", "counter"))
    for row, owed in counted:
        counter = owed.rule.parameters["counter"]
        if (owed.position_id, counter) not in are_read:
            words = f"counts `{counter}`, which is never read here: the counters sheet gives it"
            run.say(row.fault("rule", words, severity=NOTE, code="counter_unread"))
