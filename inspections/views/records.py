"""One inspection, whole: read it, verify it, open a correction of it, answer its questions."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet import clock, permissions, planning
from fleet.faults import Refused
from fleet.views.guard import needs, require, version_of
from inspections.actions.answer import answer
from inspections.actions.assess import POPPED, why_not_counted
from inspections.actions.records import records_of
from inspections.actions.start import correct
from inspections.actions.targets import targets_of
from inspections.actions.verify import verify, why_not
from inspections.models import Inspection, Question, Stage
from inspections.reports.certificate import duty_asked
from inspections.reports.hand_tag import why_no_tag
from inspections.reports.preview import preview_of
from inspections.reports.tightness import seat_lines


@needs(permissions.READ)
def inspection(request, pk):
    """The record as it stands, its corrections both ways, and what it leaves open."""
    record = _record(request.user, pk)
    row, may = record.inspection, request.user.may
    preview = preview_of(record) if row.locked_at is None else None
    return render(
        request,
        "inspections/inspection.html",
        {
            "inspection": row,
            "record": record,
            "first_pop": record.first_pop(),
            "pops": _pops(record),
            "is_popped": row.activity in POPPED,
            "preview": preview,
            "settings": _settings(record),
            "questions": row.questions.select_related("answered_by", "recorded_by").order_by("pk"),
            "correction": Inspection.objects.filter(corrects=row).first(),
            "may_verify": row.locked_at is None
            and row.signed_at is not None
            and may(permissions.VERIFY_JOB, row.site_id),
            "may_record": row.locked_at is None and may(permissions.RECORD_JOB, row.site_id),
            "may_correct": row.locked_at is not None
            and may(permissions.CORRECT_RECORD, row.site_id),
            "may_answer": may(permissions.ANSWER_QUESTION, row.site_id),
            "why_not_counted": why_not_counted(record),
            "why_no_tag": why_no_tag(row),
            "why_not": why_not(record, request.user) if row.signed_at else [],
        },
    )


def _record(user, pk):
    rows = Inspection.objects.visible_to(user).select_related(
        "device__model",
        "position__unit",
        "done_by",
        "signed_by",
        "verified_by",
        "accepted_by",
        "recorded_by",
        "corrects",
        "event",
    )
    [record] = records_of([get_object_or_404(rows, pk=pk)])
    return record


def _pops(record) -> list[tuple]:
    """Each pop with how tight its seat was, where that was read."""
    row = record.inspection
    seats = seat_lines(row, duty_asked(row), record.pops)
    return [(pop, seats.get(pop.pk)) for pop in record.pops]


def _settings(record) -> list[dict]:
    """Each setting once: as found, as left, and the as-left against its target."""
    targets = {target.setting: target for target in targets_of(record.inspection)}
    rows: dict[str, dict] = {}
    for reading in record.settings:
        row = rows.setdefault(reading.setting, {"words": reading.setting.replace("_", " ")})
        row[reading.stage] = reading
    for setting, row in rows.items():
        left, target = row.get(Stage.AS_LEFT), targets.get(setting)
        if left is not None and left.value is not None and target and target.value is not None:
            on = record.inspection.done_on
            row["comparison"] = target.compared(left.value, left.datum, left.datum_reason, on)
            row["target"] = target
    return [rows[name] for name in sorted(rows)]


@needs(permissions.VERIFY_JOB)
@require_POST
def inspection_verify(request, pk):
    """The second person's signature: locks the record and moves the dates."""
    row = get_object_or_404(Inspection.objects.visible_to(request.user), pk=pk)
    require(request.user, permissions.VERIFY_JOB, row.site_id)
    version, now = version_of(request), clock.now()
    try:
        questions = verify([row], by=request.user, at=now, version=version)
    except Refused as refused:
        for fault in refused.faults:
            messages.error(request, str(fault))
    else:
        messages.success(request, "Verified and locked. Its dates have moved.")
        for question in questions:
            messages.warning(request, f"Question opened: {question.text}")
        if row.site and (plan := planning.again_if_overtaken(row.site, by=request.user, at=now)):
            words = f"What it calls for is not in the plan in force: plan {plan.pk} is worked out."
            messages.info(request, words)
    return redirect("inspection", pk)


@needs(permissions.CORRECT_RECORD)
@require_POST
def inspection_correct(request, pk):
    """Open a new record that corrects this one; both are kept."""
    row = get_object_or_404(Inspection.objects.visible_to(request.user), pk=pk)
    require(request.user, permissions.CORRECT_RECORD, row.site_id)
    try:
        new = correct(row, by=request.user, at=clock.now())
    except Refused as refused:
        for fault in refused.faults:
            messages.error(request, str(fault))
        return redirect("inspection", pk)
    messages.info(request, f"{new.ref} is open. {row.ref} counts until it is verified.")
    return redirect("inspection", new.pk)


@needs(permissions.ANSWER_QUESTION)
@require_POST
def question_answer(request, pk):
    """Close a question with an answer and a name."""
    question = get_object_or_404(Question.objects.visible_to(request.user), pk=pk)
    require(request.user, permissions.ANSWER_QUESTION, question.site_id)
    try:
        answer(question, request.POST.get("answer", ""), by=request.user, at=clock.now())
    except Refused as refused:
        for fault in refused.faults:
            messages.error(request, str(fault))
    for page in ("inspection", "position", "device"):
        if key := getattr(question, f"{page}_id"):
            return redirect(page, key)
    return redirect("home")
