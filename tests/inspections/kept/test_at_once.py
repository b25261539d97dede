"""Two at once: a page never waits for another that brings the kept review up to date."""

from concurrent.futures import ThreadPoolExecutor

from django.db import connections, transaction

from inspections.kept.catching_up import catch_up, catch_up_if_few
from inspections.models import Screening
from tests import factories
from tests.factories import RECORDED_AT
from tests.fleet.test_writers import at_once, on_postgres
from tests.inspections.reports.records import written


@at_once
@on_postgres
def test_a_page_shows_what_is_kept_while_another_is_at_it():
    written([factories.DeviceFactory()])
    catch_up(at=RECORDED_AT)
    written([factories.DeviceFactory()])

    def page():
        try:
            return catch_up_if_few(at=RECORDED_AT)
        finally:
            connections.close_all()

    with transaction.atomic():
        Screening.objects.select_for_update().get()
        with ThreadPoolExecutor(1) as pool:
            stands = pool.submit(page).result(timeout=10)
    assert (stands.is_behind, stands.is_busy) == (True, True)
    assert not page().is_behind
