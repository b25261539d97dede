"""Every address of the site, and the rows of one site that stand in them."""

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import URLPattern, get_resolver, reverse

from fleet.actions.feeds import digest_of
from tests import factories

SECRET = "a-secret-that-only-this-address-has"
EXTRA = {  # what an address asks for besides a key
    "bench_step": ["arrival"],
    "bench_compare": ["lower_ring"],
    "bench_judge": ["as_left"],
    "bench_photos": ["arrival"],
}


def patterns(resolver=None, prefix=""):
    for pattern in (resolver or get_resolver()).url_patterns:
        if isinstance(pattern, URLPattern):
            yield prefix + str(pattern.pattern), pattern
        else:
            yield from patterns(pattern, prefix + str(pattern.pattern))


ROUTES = {pattern.name: route for route, pattern in patterns()}


def address(name, keys):
    if "<" not in ROUTES[name]:
        return reverse(name)
    key = keys.get(name, keys.get(name.partition("_")[0]))
    return reverse(name, args=[key, *EXTRA.get(name, [])])


def keys_of(site) -> dict[str, object]:
    """What stands in each address, by its name or by the first word of it."""
    unit = factories.UnitFactory(site=site)
    place = factories.PositionFactory(unit=unit)
    factories.PositionDutyFactory(position=place)
    device = factories.DeviceFactory(site=site)
    return _of_plant(site, unit, place) | _of_bench(place, device) | _of_people(site)


def _of_plant(site, unit, place) -> dict[str, object]:
    owed = factories.ObligationFactory(position=place)
    outage = factories.OutageFactory(site=site, units=[unit])
    return {
        "site": site.pk,
        "outage": outage.pk,
        "pack": _pack(outage).pk,
        "planned": _planned(owed, outage).pk,
        "position": place.pk,
        "device_fit": place.pk,
        "device_take_out": place.pk,
        "proposal": factories.ProposalFactory(position=place).pk,
        "import": factories.JobFactory(upload__site=site).pk,
        "rule": factories.IntervalRuleFactory().code,
        "tolerance": factories.ToleranceBandFactory().code,
        "deferral_ask": owed.pk,
        "deferral_answer": factories.DeferralRequestFactory(obligation=owed).pk,
        "interval": owed.pk,
        "group": factories.SampledFactory(position=place).pk,
        **_of_plans(site, place, owed),
    }


def _of_plans(site, place, owed) -> dict[str, object]:
    plan = factories.PlanFactory(site=site)
    return {
        "plan": plan.pk,
        "plan_job": factories.PlannedJobFactory(plan=plan, obligation=owed).pk,
        "plan_settle": factories.PlannedJobFactory(plan=plan).pk,
        "plan_late_scope": factories.PlannedJobFactory(plan=plan).pk,
        "late_scope_answer": factories.LateScopeFactory(position=place).pk,
        "placing_lift": factories.HandPlacingFactory(position=place).pk,
    }


def _pack(outage):
    """A work pack that was made, with its file."""
    name = default_storage.save("work-packs/made.pdf", ContentFile(b"a pack"))
    asked = {"outage": outage.pk, "on": ""}
    return factories.JobFactory(
        kind="work_pack", state="done", arguments=asked, upload=None,
        asked_by=factories.UserFactory(), result={"stored_at": name},
    )  # fmt: skip


def _planned(owed, outage):
    plan = factories.PlanFactory(site=outage.site)
    placed = {"status": "placed", "outage": outage, "planned_on": outage.starts_on}
    return factories.PlannedJobFactory(plan=plan, obligation=owed, **placed)


def _of_bench(place, device) -> dict[str, object]:
    spell = factories.InstallationFactory(position=place, device=device)
    record = factories.InspectionFactory(device=device, position=place)
    limit = factories.PartLimitFactory()
    return {
        "device": device.pk,
        "installation": spell.pk,
        "inspection": record.pk,
        "bench": record.pk,
        "question": factories.QuestionFactory(inspection=record).pk,
        "photo": _photo(record).pk,
        "document": _document(record).pk,
        "instruction": factories.InstructionFactory(device=device).pk,
        "model": limit.model_id,
        "model_limit": limit.pk,
        "model_point": factories.SettingPointFactory().pk,
    }


def _photo(record):
    """With files beneath MEDIA_ROOT, so that it can be served."""
    photo = factories.PhotoFactory(inspection=record)
    for name in (photo.stored_at, photo.small_at):
        default_storage.save(name, ContentFile(b"a picture"))
    return photo


def _document(record):
    document = factories.DocumentFactory(inspection=record)
    default_storage.save(document.stored_at, ContentFile(b"a paper"))
    return document


def _of_people(site) -> dict[str, object]:
    person = factories.MembershipFactory(site=site, role="auditor")
    factories.MembershipFactory(site=site, role="administrator")  # not the last one of all
    feed = factories.FeedFactory(user=person.user, site=site, digest=digest_of(SECRET))
    return {
        "role_give": person.user_id,
        "role_take": person.pk,
        "person": person.user_id,
        "feed": feed.pk,
        "calendar": SECRET,
    }
