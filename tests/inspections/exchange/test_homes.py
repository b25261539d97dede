"""Where a device belongs that never stood anywhere: nobody of another site sees it."""

from fleet.models import Device
from tests.contract.plant import Plant


def test_a_spare_belongs_to_the_site_that_recorded_work_on_it(db, settings, tmp_path):
    Plant(tmp_path).must(
        positions="site | tag | unit | set_pressure\nNorth | A | U | 9 barg\n"
        "South | B | U | 9 barg",
        devices="device | kind\nD-1 | spring\nD-2 | spring",
        inspections="ref | site | device | activity | done_on | done_by | verified_by\n"
        "I-1 | South | D-1 | visual | 2020-01-01 | Ann | Bo",
    )
    homes = dict(Device.objects.values_list("number", "site__name"))
    assert homes == {"D-1": "South", "D-2": None}
