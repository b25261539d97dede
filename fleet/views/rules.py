"""The rule library: every rule in words, a worked example, and a box to try it in."""

from django.contrib import messages
from django.http import Http404, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, redirect, render

from fleet import clock, permissions
from fleet.actions.rules import add_rules, problems_of_rule, replace_rule
from fleet.calc.intervals import SHAPES
from fleet.drawings.axis import TimeAxis, axis_head
from fleet.drawings.interval_line import interval_line
from fleet.drawings.scene import Scene
from fleet.faults import Refused
from fleet.filters import RuleFilter
from fleet.forms.rules import RuleForm
from fleet.forms.try_rule import TryForm
from fleet.listing import export_asked
from fleet.models import DueLine, IntervalRule
from fleet.reports.replacing import Preview, preview
from fleet.reports.rules import (
    COLUMNS,
    KIND_WORDS,
    RuleRow,
    by_field,
    kinds,
    lines_under,
    matching,
    rule_rows,
)
from fleet.reports.worked import answer_of
from fleet.views.due import exports_of
from fleet.views.guard import needs

SHOWN = 20  # positions on a rule's own page


@needs(permissions.READ)
def rules(request):
    """Every rule of the library, the site's own first."""
    asks = RuleFilter(request.GET, user=request.user)
    every = rule_rows(request.user, clock.today())
    rows = matching(every, asks.ask())
    if asks.errors and "export" in request.GET:
        return HttpResponseBadRequest("Not exported: what is asked was not understood.")
    exported = export_asked(request, "rules", COLUMNS, lambda: (row.as_dict() for row in rows))
    if exported:
        return exported
    context = {
        "asks": asks,
        "groups": by_field(rows),
        "count": len(rows),
        "all": len(every),
        "own": sum(row.is_own for row in every),
        "used": sum(bool(row.positions) for row in every),
        "exports": exports_of(request),
        "may_manage": request.user.may(permissions.MANAGE_RULES),
    }
    return render(request, "fleet/rules.html", context)


def rule_or_404(request, code: str) -> RuleRow:
    for row in rule_rows(request.user, clock.today()):
        if row.code == code:
            return row
    raise Http404


def uses(lines: list[DueLine]) -> list[tuple[DueLine, Scene]]:
    """Each line with its interval line, all on one axis."""
    today = clock.today()
    axis = TimeAxis.around(today)
    found = []
    for line in lines:
        state = "overdue" if line.due_on and line.due_on < today else ""
        scene = interval_line(
            axis, line.last_on, line.due_on, today, (), line.deferred_until, state
        )
        found.append((line, scene))
    return found


@needs(permissions.READ)
def rule(request, code):
    """One rule: in words, its source and history, an example drawn, and what somebody tries."""
    row = rule_or_404(request, code)
    shape, example = row.shape, row.example
    names = set(TryForm.base_fields) & set(request.GET)
    form = TryForm(
        request.GET if names else None, shape=shape, today=clock.today(), example=example
    )
    facts, failed = example, {}
    if form.is_bound:
        facts, failed = (form.facts(), form.failed()) if form.is_valid() else (None, {})
    lines = lines_under(code, request.user, SHOWN)
    context = {
        "row": row,
        "form": form,
        "answer": answer_of(shape, facts, row.citation, failed) if facts else None,
        "uses": uses(lines),
        "axis_head": axis_head(TimeAxis.around(clock.today()), clock.today()),
        "more": max(row.positions - len({line.position_id for line in lines}), 0),
        "may_manage": request.user.may(permissions.MANAGE_RULES),
    }
    return render(request, "fleet/rule.html", context)


@needs(permissions.MANAGE_RULES)
def rule_new(request):
    """The kind first, then its boxes."""
    kind = request.POST.get("kind") or request.GET.get("kind", "")
    if kind not in SHAPES:
        status = 422 if request.method == "POST" else 200
        return render(request, "fleet/rule_kinds.html", {"kinds": kinds()}, status=status)
    form = RuleForm(request.POST or None, kind=kind)
    if request.method == "POST" and form.is_valid():
        row = form.rule()
        try:
            add_rules([row], by=request.user, at=clock.now())
        except Refused as refused:
            form.show(refused.faults)
        else:
            messages.success(request, f"{row} is in the library. Nothing is owed under it yet.")
            return redirect("rule", row.code)
    return _form(request, form, {})


def _form(request, form: RuleForm, more: dict):
    context = {
        "form": form,
        "kind": form.kind,
        "kind_words": KIND_WORDS[form.kind],
        "source_fields": [form[name] for name in ("code", "citation", "edition", "is_verified")],
        "rule_fields": [form[name] for name in form.boxes],
        "other_fields": [
            form[n] for n in ("out_of_service", "ceiling", "from_on") if n in form.fields
        ],
        **more,
    }
    is_wrong = form.is_bound and not form.is_valid()
    return render(request, "fleet/rule_form.html", context, status=422 if is_wrong else 200)


@needs(permissions.MANAGE_RULES)
def rule_replace(request, code):
    """Another rule in its place from a day on: what moves is shown first, then it is done."""
    old = get_object_or_404(IntervalRule, code=code)
    asked = request.POST.get("kind") or request.GET.get("kind", "")
    kind = asked if asked in SHAPES else old.kind
    form = RuleForm(request.POST or None, kind=kind, old=old)
    seen = None
    if request.method == "POST" and form.is_valid():
        seen = _previewed(request, form, old)
        if seen and not seen.elsewhere and request.POST.get("seen") == seen.digest:
            new = form.rule()
            places = replace_rule(old, new, new.from_on, by=request.user, at=clock.now())
            words = f"{new} replaces {old} from {new.from_on}: {len(places)} positions follow it."
            messages.success(request, words)
            return redirect("rule", new.code)
    return _form(request, form, {"old": old, "seen": seen, "kinds": list(KIND_WORDS.items())})


def _previewed(request, form: RuleForm, old: IntervalRule) -> Preview | None:
    """What would move; None where it is refused, and the form says why."""
    new = form.rule()
    faults = problems_of_rule(new)
    if not faults:
        try:
            return preview(old, new, new.from_on, user=request.user, today=clock.today())
        except Refused as refused:
            faults = refused.faults
    form.show(faults)
    return None
