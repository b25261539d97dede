"""`visible_to` is the only door to rows: one's own sites, and what has no site yet."""

import pytest
from django.apps import apps

from tests import factories

pytestmark = pytest.mark.django_db
MODELS = [m for m in apps.get_models() if hasattr(m, "site_path")]
FACTORIES = {f._meta.model: f for f in vars(factories).values() if hasattr(f, "_meta")}
WITHOUT_A_SITE = {
    "Device": lambda: factories.DeviceFactory(site=None),
    "ServiceEvent": lambda: factories.ServiceEventFactory(device__site=None),
    "EventVoid": lambda: factories.EventVoidFactory(event__device__site=None),
    "Inspection": lambda: factories.InspectionFactory(device__site=None),
    "Question": lambda: factories.QuestionFactory(inspection__device__site=None),
    "PopTest": lambda: factories.PopTestFactory(inspection__device__site=None),
    "SettingReading": lambda: factories.SettingReadingFactory(inspection__device__site=None),
    "Finding": lambda: factories.FindingFactory(inspection__device__site=None),
}


def seen(row, user):
    return type(row).objects.visible_to(user).filter(pk=row.pk).exists()


def site_of(row):
    found = row
    for name in type(row).site_path.split("__"):
        found = found.pk if name == "pk" else getattr(found, name)
    return getattr(found, "pk", found)


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_rows_are_seen_from_their_own_site_alone(model):
    row = FACTORIES[model]()
    here = factories.MembershipFactory(site_id=site_of(row), site=None).user
    elsewhere = factories.MembershipFactory().user
    assert seen(row, here)
    assert not seen(row, elsewhere)
    assert not seen(row, factories.UserFactory())


@pytest.mark.parametrize("name", WITHOUT_A_SITE)
def test_what_has_no_site_is_seen_from_every_site_but_not_from_none(name):
    row = WITHOUT_A_SITE[name]()
    assert site_of(row) is None
    assert seen(row, factories.MembershipFactory().user)
    assert not seen(row, factories.UserFactory())


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_somebody_who_has_left_sees_nothing(model):
    row = FACTORIES[model]()
    user = factories.MembershipFactory(site_id=site_of(row), site=None).user
    user.is_active = False
    assert not seen(row, user)
