"""How an engineer decides an interval: seen first, then written."""

from datetime import date

from django import forms

from fleet.forms.days import Day
from fleet.forms.deferrals import RuleForm
from fleet.forms.proposals import IntervalInput
from fleet.models import IntervalDecision, Obligation


class DecisionForm(RuleForm):
    """`decision()` gives it unsaved; `seen` says what was shown when it was looked at."""

    interval = IntervalInput(label="No more than this apart")
    from_on = Day(label="From", help_text="Days before it keep their answer.")
    act_by = Day(
        label="Act by",
        required=False,
        help_text="Only where the new interval is over by then already.",
    )
    reason = forms.CharField(
        label="Why",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Kept with the decision, under your name.",
    )
    evidence = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Reports, analyses or records it rests on.",
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data=None, *, today: date) -> None:
        super().__init__(data, initial={"from_on": today})

    def decision(self, owed: Obligation) -> IntervalDecision:
        given = {name: value for name, value in self.cleaned_data.items() if name != "seen"}
        return IntervalDecision(obligation=owed, **given)

    def has_seen(self, shown: str) -> bool:
        """Was this very answer, to this very decision, on the page that was sent?"""
        return self.cleaned_data["seen"] == self._token(shown)

    def show(self, shown: str) -> None:
        """What was typed stays; the page now shows what it would do."""
        self.data = self.data.copy()
        self.data["seen"] = self._token(shown)

    def _token(self, shown: str) -> str:
        given = self.cleaned_data
        return f"{given['interval']} {given['from_on']} {given['act_by']}: {shown}"
