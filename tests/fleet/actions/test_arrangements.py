"""Arrangements are written whole, with the roles of their kind."""

from datetime import UTC, datetime

import pytest

from fleet.actions.arrangements import arrange
from fleet.faults import Refused
from fleet.models import Arrangement, ArrangementMember, AuditEntry
from tests import factories

pytestmark = pytest.mark.django_db
AT = datetime(2026, 11, 25, 12, tzinfo=UTC)


def members(*roles):
    return [ArrangementMember(position=factories.PositionFactory(), role=role) for role in roles]


def test_an_arrangement_and_its_members_are_one_entry_of_the_chain():
    one = Arrangement(site=factories.SiteFactory(), name="C-1", kind="changeover")
    group = members("duty", "standby", "standby")
    arrange([(one, group)], by=factories.UserFactory(), at=AT)
    assert ArrangementMember.objects.filter(arrangement=one).count() == 3
    group[0].role, group[1].role = "standby", "duty"
    arrange([(one, group)], by=factories.UserFactory(), at=AT)
    assert AuditEntry.objects.count() == 2 and Arrangement.objects.count() == 1
    assert ArrangementMember.objects.get(role="duty") == group[1]


@pytest.mark.parametrize(
    ("kind", "roles"),
    [("combination", ["valve"]), ("combination", ["valve", "upstream_disc", "upstream_disc"]),
     ("pilot", ["main"]), ("changeover", ["duty", "duty", "standby"]),
     ("multiple", ["duty", "valve"]), ("multiple", ["duty"])],
)  # fmt: skip
def test_wrong_roles_are_refused(kind, roles):
    one = Arrangement(site=factories.SiteFactory(), name="A", kind=kind)
    with pytest.raises(Refused) as refused:
        arrange([(one, members(*roles))], by=factories.UserFactory(), at=AT)
    assert [fault.field for fault in refused.value.faults] == ["role"]
    assert not Arrangement.objects.exists()


def test_a_position_stands_in_one_arrangement_of_a_kind():
    site, by = factories.SiteFactory(), factories.UserFactory()
    group = members("duty", "standby")
    arrange([(Arrangement(site=site, name="A", kind="changeover"), group)], by=by, at=AT)
    again = [ArrangementMember(position=group[0].position, role="standby"), *members("duty")]
    with pytest.raises(Refused) as refused:
        arrange([(Arrangement(site=site, name="B", kind="changeover"), again)], by=by, at=AT)
    assert [fault.typed for fault in refused.value.faults] == [group[0].position.tag]
