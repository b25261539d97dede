"""One box that finds a tag, a device, a serial, equipment, a record or a certificate."""

from dataclasses import dataclass

from django.db.models import Q, QuerySet
from django.shortcuts import redirect, render
from django.urls import reverse

from fleet import permissions
from fleet.models import Device, Position
from fleet.views.guard import needs
from inspections.models import Inspection

MOST = 20


@dataclass(frozen=True)
class Hit:
    """One thing found: what it is called, what else is said of it, and its page."""

    words: str
    beneath: str
    url: str


@dataclass(frozen=True)
class Found:
    kind: str
    hits: list[Hit]
    is_cut: bool


@needs(permissions.READ)
def search(request):
    """Straight to the page where the text names exactly one thing; else a list."""
    wanted = " ".join(request.GET.get("q", "").split())[:80]
    if not wanted:
        return render(request, "inspections/search.html", {"find": ""})
    exact = {hit.url for hit in _exact(request.user, wanted)}
    if len(exact) == 1:
        return redirect(exact.pop())
    found = [part for part in _like(request.user, wanted) if part.hits]
    context = {"find": wanted, "found": found}
    return render(request, "inspections/search.html", context)


def _exact(user, wanted: str) -> list[Hit]:
    return [
        *_positions(_rows_of_positions(user).filter(tag__iexact=wanted)[:2]),
        *_devices(
            _rows_of_devices(user).filter(Q(number__iexact=wanted) | Q(serial__iexact=wanted))[:2]
        ),
        *_records(
            _rows_of_records(user).filter(Q(ref__iexact=wanted) | Q(certificate__iexact=wanted))[:2]
        ),
    ]


def _like(user, wanted: str) -> list[Found]:
    by_tag = Q(tag__icontains=wanted) | Q(equipment__name__icontains=wanted)
    by_number = Q(number__icontains=wanted) | Q(serial__icontains=wanted)
    by_ref = Q(ref__icontains=wanted) | Q(certificate__icontains=wanted)
    return [
        _found("Positions", _positions, _rows_of_positions(user).filter(by_tag)),
        _found("Devices", _devices, _rows_of_devices(user).filter(by_number)),
        _found("Records", _records, _rows_of_records(user).filter(by_ref)),
    ]


def _found(kind: str, said, rows: QuerySet) -> Found:
    hits = said(rows[: MOST + 1])
    return Found(kind, hits[:MOST], len(hits) > MOST)


def _rows_of_positions(user) -> QuerySet:
    rows = Position.objects.visible_to(user).select_related("unit__site", "equipment")
    return rows.order_by("tag", "pk")


def _rows_of_devices(user) -> QuerySet:
    return Device.objects.visible_to(user).select_related("model").order_by("number", "pk")


def _rows_of_records(user) -> QuerySet:
    return Inspection.objects.visible_to(user).select_related("device").order_by("ref", "pk")


def _positions(rows) -> list[Hit]:
    return [
        Hit(
            row.tag,
            ", ".join(filter(None, [str(row.unit), row.equipment and f"on {row.equipment}"])),
            reverse("position", args=[row.pk]),
        )
        for row in rows
    ]


def _devices(rows) -> list[Hit]:
    return [
        Hit(
            row.number,
            ", ".join(filter(None, [row.serial and f"serial {row.serial}", str(row.model or "")])),
            reverse("device", args=[row.pk]),
        )
        for row in rows
    ]


def _records(rows) -> list[Hit]:
    return [
        Hit(
            row.ref,
            ", ".join(
                filter(
                    None,
                    [str(row.device), row.certificate and f"certificate {row.certificate}"],
                )
            ),
            reverse("inspection", args=[row.pk]),
        )
        for row in rows
    ]
