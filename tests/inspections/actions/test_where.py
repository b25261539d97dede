"""A record is judged by what the position it looks back on asked on that day.

Bands: ASME VIII, above 70 psi 3 % (UG-134(d) via API RP 576 6.2.9.8): 97 to 103 about 100 psig,
145.5 to 154.5 about 150 psig.
"""

from datetime import date

import pytest

from inspections.models import Inspection
from tests.inspections.shop import Shop

pytestmark = pytest.mark.django_db
MOVED, OUT = date(2022, 3, 1), date(2024, 5, 2)


@pytest.fixture
def shop():
    """D-1 stood at PSV-1 (150 psig), then at PSV-2 (100 psig)."""
    shop = Shop()
    shop.second_place = shop.position("PSV-2", set_pressure="100 psig")
    first = shop.device.installations.get()
    shop.remove(first, MOVED)
    shop.later = shop.fit(shop.device, shop.second_place, MOVED)
    return shop


def judged(shop, day):
    job = shop.popped(shop.open(day=day), found="104 psig", left="100 psig", disposition="repaired")
    shop.sign(job)
    shop.verify(job)
    row = Inspection.objects.get(pk=job.pk)
    first = row.pops.get(stage="as_found", order=1)
    return row.position.tag, str(first.reference), first.verdict


def test_by_the_position_it_stood_at_last_not_the_first_it_ever_had(shop):
    assert judged(shop, date(2024, 5, 1)) == ("PSV-2", "100 psig", "high")


def test_by_the_position_it_came_out_of_when_it_is_overhauled_in_the_shop(shop):
    shop.remove(shop.later, OUT)
    assert judged(shop, date(2024, 5, 20)) == ("PSV-2", "100 psig", "high")


def test_by_the_position_it_left_when_it_moves_on_the_day_of_the_record(shop):
    assert judged(shop, MOVED)[0] == "PSV-1"
