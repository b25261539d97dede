"""The locks hold inside tests, and stand again after a test that commits."""

import pytest
from django.db import DatabaseError, connection, transaction

from fleet import locks
from fleet.models import ServiceEvent
from tests import factories


def refuses_a_rewrite():
    event = factories.ServiceEventFactory()
    with pytest.raises(DatabaseError), transaction.atomic():
        ServiceEvent.objects.filter(pk=event.pk).update(ref="another")
    with pytest.raises(DatabaseError), transaction.atomic():
        ServiceEvent.objects.filter(pk=event.pk)._raw_delete("default")
    return ServiceEvent.objects.filter(pk=event.pk).exists()


@pytest.mark.django_db
def test_a_dated_fact_is_refused_a_rewrite():
    assert refuses_a_rewrite()


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("again", [1, 2])
def test_a_test_that_commits_is_cleaned_up_and_the_locks_stand_again(again):
    assert ServiceEvent.objects.count() == 0
    assert locks.missing(connection) == []
    assert refuses_a_rewrite()
