"""How leave to pass a due date is asked for, and answered."""

from collections.abc import Sequence
from datetime import date

from django import forms

from fleet.calc.deferrals import DOCUMENT, MEASURE, NOTICE, Policy
from fleet.faults import Fault
from fleet.forms.days import Day
from fleet.models import Deferral, DeferralRequest, Obligation
from fleet.reports.leave import Case
from fleet.reports.reasons import with_day_words

PAPERS = {"assessed": "Risk assessment", "single_postponement": "Agreement in writing"}


class RuleForm(forms.Form):
    """A form that is refused in the rule's words, each beside its field."""

    use_required_attribute = False

    def refuse(self, faults: Sequence[Fault]) -> None:
        for fault in faults:
            is_shown = fault.field in self.fields and not self[fault.field].is_hidden
            words = f"{fault.expected[0].upper()}{fault.expected[1:]}."
            if is_shown and fault.typed:
                words = f"“{self[fault.field].value()}”: {fault.expected}."
            self.add_error(fault.field if is_shown else None, with_day_words(words))


class LeaveForm(RuleForm):
    """Leave for one due date, under the policy that was picked. `wanted()` gives it unsaved.

    due_on: the due date the page showed, so that nobody asks for leave to pass another.
    """

    policy = forms.ChoiceField(choices=Deferral.Policy.choices, widget=forms.HiddenInput)
    due_on = Day(widget=forms.HiddenInput)
    until_on = Day(label="Until")
    notified_on = Day(label="Authority notified on")
    document = forms.CharField(max_length=200)
    reason = forms.CharField(
        label="Why it has to be passed",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Kept with the deferral, under your name.",
    )
    interim_measure = forms.CharField(
        label="What makes it safe meanwhile", widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, data=None, *, policy: str, case: Case, until_on: date | None = None) -> None:
        due_on = case.term.due_on if case.term else None
        super().__init__(data, initial={"policy": policy, "due_on": due_on, "until_on": until_on})
        reach = case.reach(policy)
        needs = reach.policy.needs if reach else ()
        self.fields[DOCUMENT].label = PAPERS.get(policy, "Document")
        self.fields[DOCUMENT].help_text = "Its number or title, as it is filed."
        for name in (DOCUMENT, MEASURE, NOTICE):
            self.fields[name].required = name in needs
        if NOTICE not in needs:
            del self.fields[NOTICE]
        if reach and reach.limit.until_on:
            words = f"At the latest {reach.limit.until_on}: {reach.limit.words}."
            self.fields["until_on"].help_text = with_day_words(words)
        for name in needs:
            self.fields[name].error_messages["required"] = _needed(reach.policy)

    def wanted(self, owed: Obligation) -> DeferralRequest:
        return DeferralRequest(obligation=owed, **self.cleaned_data)


def _needed(policy: Policy) -> str:
    return f"Needed for {policy.name}. {policy.allows} ({policy.source})"


class AnswerForm(RuleForm):
    """Yes or no, and why. A refusal needs its reason."""

    APPROVE, REFUSE = "approve", "refuse"

    answer = forms.ChoiceField(
        choices=[(APPROVE, "Approve"), (REFUSE, "Refuse")],
        widget=forms.HiddenInput,
        error_messages={"required": "Approve it or refuse it."},
    )
    answer_words = forms.CharField(
        label="Your words",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Kept under your name. A refusal says why.",
    )
