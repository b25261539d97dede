"""Several people save one step of one job at the very same moment: one is first, and each other is
told, with nothing of theirs written and nothing of the first's undone."""

from datetime import date
from functools import partial
from uuid import UUID

from inspections.actions.edits import Edit, keep
from inspections.actions.step import ChangedMeanwhile, Step, save_step
from inspections.actions.verify import verify
from inspections.models import FieldEdit, Inspection
from tests.fleet.test_writers import at_once, on_postgres, together
from tests.inspections.shop import AT, Shop

PEOPLE = 6


@at_once
@on_postgres
def test_of_savers_at_once_one_is_first_and_the_others_are_told():
    shop = Shop(activity="overhaul")
    job = shop.open("overhaul", day=date(2024, 5, 1))

    def saves(place: int) -> str:
        step = Step("arrival", values={"seal_found": f"seal {place}"})
        try:
            save_step(job, step, version=job.version, by=shop.mechanic, at=AT)
        except ChangedMeanwhile:
            return ""
        return f"seal {place}"

    said = together(*(partial(saves, place) for place in range(PEOPLE)))
    [first] = filter(None, said)
    stored = Inspection.objects.get(pk=job.pk)
    assert (stored.seal_found, stored.version) == (first, job.version + 1)


@at_once
@on_postgres
def test_what_is_typed_while_the_record_locks_is_kept_or_given_back():
    """Never both, and never neither."""
    shop = Shop(activity="bench_test")
    job = shop.open("bench_test", day=date(2024, 5, 1))
    shop.popped(job)
    signed = shop.sign(job)

    def goes(place: int):
        if place == 0:
            return verify([signed], by=shop.second, at=AT)
        return keep(signed, [edit(place)], by=shop.mechanic, at=AT)

    said = together(*(partial(goes, place) for place in range(PEOPLE)))
    for place, answer in enumerate(said[1:], 1):
        kept, turned = answer
        is_there = FieldEdit.objects.filter(uuid=edit(place).uuid).exists()
        assert is_there == bool(kept) != bool(turned)
        assert all(one.typed == f"typed {place}" for one in turned)
    assert Inspection.objects.get(pk=job.pk).locked_at is not None


def edit(place: int) -> Edit:
    return Edit(UUID(int=place), "seal", "remarks", f"typed {place}", 1, AT)
