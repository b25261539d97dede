"""A duty that changes from a day, from a workbook to the lists: proposed, and nothing by itself."""

import pytest

from fleet.models import Proposal
from tests.contract.test_proposals import proposed, record, records, stocked


@pytest.fixture
def valve(plant):
    """In its second year here: what comes now is no first load."""
    return stocked(plant, inspections=records(record("OLD", "2020-03-01", "1175 psig")))


def test_a_new_set_pressure_is_proposed_from_its_day(valve):
    valve.must(changes="tag | field | from_on | value | moc\n"
               "PSV-1 | set_pressure | 2024-06-01 | 1205 psig | MOC-7")  # fmt: skip
    assert proposed(valve, "2024-05-31") is None
    assert proposed(valve, "2024-06-11") == "new set pressure, open 10 days"
    row = Proposal.objects.get()
    assert row.source == "duty from 2024-06-01 (MOC-7)"
    assert row.reason == "set pressure 1175 psig to 1205 psig"


@pytest.mark.parametrize("value", ["fluid | 2024-06-01 | caustic", "severity | 2024-06-01 | severe",
                                   "phase | 2024-06-01 | two_phase"])  # fmt: skip
def test_a_new_service_is_proposed(valve, value):
    valve.must(changes=f"tag | field | from_on | value\nPSV-1 | {value}")
    assert proposed(valve, "2024-06-11") == "new service, open 10 days"


def test_what_is_not_service_nor_pressure_is_not_proposed(valve):
    valve.must(changes="tag | field | from_on | value\nPSV-1 | discharge | 2024-06-01 | flare")
    assert proposed(valve, "2024-06-11") is None


def test_the_register_may_be_completed_without_a_proposal(valve):
    """It never said how severe the service is; it does now."""
    valve.must(positions="site | tag | unit | set_pressure | severity\n"
               "Northmere | PSV-1 | Stills | 1175 psig | severe")  # fmt: skip
    assert proposed(valve, "2026-11-25") is None


@pytest.mark.parametrize(("day", "said"), [("2012-01-01", None),
                                           ("2016-01-01", "new service, open 1 day")])  # fmt: skip
def test_a_first_load_s_change_was_answered_by_a_test_since(plant, day, said):
    stocked(
        plant, inspections=records(record("A", "2015-03-01", "1173 psig")),
        changes=f"tag | field | from_on | value\nPSV-1 | fluid | {day} | caustic",
    )  # fmt: skip
    assert proposed(plant, day.replace("01-01", "01-02")) == said
