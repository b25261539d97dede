"""What a planner fills in about a plan: the days it covers, a word of one's own, late scope."""

from datetime import date

from django import forms

from fleet import permissions
from fleet.calc.units import parse_duration
from fleet.forms.days import Day
from fleet.forms.deferrals import RuleForm
from fleet.models import HandPlacing, LateScope, Site, User

USUAL = parse_duration("P3Y")


class ProposeForm(RuleForm):
    """The days a plan is asked for."""

    site = forms.TypedChoiceField(coerce=int)
    from_on = Day(label="From", help_text="What is overdue by then, or has no record, comes too.")
    to_on = Day(label="Up to", help_text="Everything due by this day is placed.")

    def __init__(self, data=None, *, user: User, today: date) -> None:
        super().__init__(data, initial={"from_on": today, "to_on": USUAL.after(today)})
        sites = Site.objects.visible_to(user).order_by("name")
        mine = [site for site in sites if user.may(permissions.PLAN_OUTAGES, site.pk)]
        self.fields["site"].choices = [(site.pk, site.name) for site in mine]

    def clean(self) -> dict:
        cleaned = super().clean()
        from_on, to_on = cleaned.get("from_on"), cleaned.get("to_on")
        if from_on and to_on and to_on < from_on:
            self.add_error("to_on", f"It ends before it begins ({from_on}).")
        return cleaned


class AcceptForm(RuleForm):
    note = forms.CharField(
        label="A word for whoever plans after you",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )


class SettleForm(RuleForm):
    """A position pinned to an outage, or barred from it."""

    outage = forms.TypedChoiceField(coerce=int, widget=forms.HiddenInput)
    kind = forms.ChoiceField(choices=HandPlacing.Kind.choices, widget=forms.HiddenInput)
    reason = forms.CharField(label="Why", widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, data=None, *, outages) -> None:
        super().__init__(data)
        self.fields["outage"].choices = [(outage.pk, outage.name) for outage in outages]


class LateScopeForm(RuleForm):
    """Work asked into an outage whose scope is frozen."""

    outage = forms.TypedChoiceField(coerce=int)
    reason = forms.CharField(
        label="Why it cannot wait",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="An engineer reads this and answers.",
    )

    def __init__(self, data=None, *, outages) -> None:
        super().__init__(data)
        self.fields["outage"].choices = [(outage.pk, outage.name) for outage in outages]


class LateAnswerForm(RuleForm):
    answer = forms.ChoiceField(choices=LateScope.Answer.choices, widget=forms.HiddenInput)
    answer_words = forms.CharField(
        label="Your words", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
