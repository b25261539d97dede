"""How an engineer answers a proposal: another interval, or why it stays."""

import re
from collections.abc import Sequence
from datetime import date

from django import forms

from fleet.calc.units import UnitsError, parse_duration
from fleet.faults import Fault
from fleet.forms.days import Day
from fleet.models import IntervalDecision, Obligation
from fleet.reports.reasons import activity_words, with_day_words

SAID = re.compile(r"(\d{1,4})\s*(year|month|week|day)s?", re.I)


class IntervalInput(forms.CharField):
    """`3 years`, `18 months`, or ISO 8601 (`P3Y`); cleans to ISO 8601."""

    def __init__(self, **kwargs) -> None:
        kwargs.setdefault("max_length", 20)
        kwargs.setdefault("help_text", "Such as 3 years, 18 months or P2Y6M.")
        super().__init__(**kwargs)
        self.widget.attrs.update({"autocomplete": "off", "spellcheck": "false"})

    def clean(self, value):
        typed = super().clean(value)
        if not typed:
            return typed
        said = SAID.fullmatch(typed)
        text = f"P{int(said[1])}{said[2][0].upper()}" if said else typed.upper()
        try:
            return parse_duration(text).text
        except UnitsError as error:
            words = f"“{typed}”: expected an interval such as 3 years or P18M."
            raise forms.ValidationError(words) from error


class Answer(forms.Form):
    """An answer whose faults stand beside their fields."""

    use_required_attribute = False

    def refuse(self, faults: Sequence[Fault]) -> None:
        for fault in faults:
            words = f"“{fault.typed}”: expected {fault.expected}" if fault.typed else fault.expected
            sentence = with_day_words(f"{words[0].upper()}{words[1:]}.")
            self.add_error(fault.field if fault.field in self.fields else None, sentence)


class AcceptForm(Answer):
    """Another interval for one thing owed at the position. `decision()` gives it unsaved."""

    prefix = "accept"

    obligation = forms.TypedChoiceField(label="Interval of the", coerce=int)
    interval = IntervalInput(label="At most")
    from_on = Day(label="From", help_text="The running clock is dated again from this day.")
    act_by = Day(
        label="Act by",
        required=False,
        help_text="Only where the new interval is past by then: the day to have it done by.",
    )
    reason = forms.CharField(
        label="Why",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Kept with the decision, under your name.",
    )

    def __init__(self, data=None, *, owed: Sequence[Obligation], today: date) -> None:
        super().__init__(data, initial={"from_on": today})
        self.owed = {row.pk: row for row in owed}
        self.fields["obligation"].choices = [(row.pk, _words(row)) for row in owed]

    def decision(self, evidence: str) -> IntervalDecision:
        given = self.cleaned_data
        return IntervalDecision(
            obligation=self.owed[given["obligation"]],
            interval=given["interval"],
            from_on=given["from_on"],
            act_by=given["act_by"],
            reason=given["reason"],
            evidence=evidence,
        )


def _words(row: Obligation) -> str:
    return f"{activity_words(row.activity)}, now {row.rule.shape.words()} ({row.rule.code})"


class DeclineForm(Answer):
    """Why the interval stays as it is."""

    prefix = "decline"

    reason = forms.CharField(
        label="Why it stays",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Kept with the proposal, under your name.",
    )
