"""The drawings of a device without the browser: as sheets and as a file, of today."""

from xml.etree import ElementTree

import pytest
from django.urls import reverse

from tests import factories
from tests.fleet.reports.plant import TODAY
from tests.fleet.views.signed_in import signed_in, text
from tests.inspections.papers.reading import said
from tests.inspections.reports.records import yearly

pytestmark = pytest.mark.django_db
SVG = "{http://www.w3.org/2000/svg}"
BOTH = ("device_history_pdf", "device_history_svg")


@pytest.fixture(autouse=True)
def _today(settings):
    settings.FIXED_TODAY = TODAY


@pytest.fixture
def device():
    device = factories.DeviceFactory(number="D 1/7", site=factories.SiteFactory())
    yearly(device, {"rings": ("5 notches", "5 notches")},
           {"found": "160 psig", "rings": ("5 notches", "8 notches")})  # fmt: skip
    return device


def asked(client, name, device):
    return client.get(reverse(name, args=[device.pk]))


def marks(root):
    """Where every dot of the readings stands."""
    return [
        (node.get("cx"), node.get("cy"), node.get("r"))
        for node in root.iter()
        if node.tag.endswith("circle") and node.get("cx") != "50%"
    ]


def test_both_are_shown_under_a_safe_name(device):
    client = signed_in("auditor", device.site)
    for name, kind, ending in zip(BOTH, ("application/pdf", "image/svg+xml"), ("pdf", "svg"),
                                  strict=True):  # fmt: skip
        answer = asked(client, name, device)
        assert answer.status_code == 200 and answer["Content-Type"] == kind
        assert answer["Content-Disposition"] == f'inline; filename="history-D-1-7.{ending}"'
        assert answer.content == asked(client, name, device).content


def test_neither_is_there_for_who_does_not_see_the_device(device):
    stranger = signed_in("engineer", factories.SiteFactory())
    assert [asked(stranger, name, device).status_code for name in BOTH] == [404, 404]


def test_the_file_has_the_marks_of_the_page_in_their_places(device):
    client = signed_in("engineer", device.site)
    page = text(asked(client, "device", device))
    root = ElementTree.fromstring(asked(client, "device_history_svg", device).content)
    found = marks(root)
    assert len(found) == 2 * 2 * 4 - 1, "a dot and its place to point at; one is a triangle"
    for x, y, radius in found:
        assert f'cx="{x}" cy="{y}" r="{radius}"' in page
    titles = [node.text for node in root.iter(f"{SVG}title")]
    assert "as left 1 Mar 2016, R-2016: 8 notches" in titles
    assert all(f"<title>{title}</title>" in page for title in titles[1:])
    headings = [node.text for node in root.findall(f"{SVG}text")]
    assert {"Set pressure", "Lower ring"} <= set(headings)


def test_a_device_without_a_record_has_both_and_they_say_so():
    device = factories.DeviceFactory(site=factories.SiteFactory())
    client = signed_in("planner", device.site)
    paper, drawing = (asked(client, name, device) for name in BOTH)
    words = "No record of this device is locked yet"
    assert words in said(paper.content) and words in drawing.content.decode()
    assert "history.pdf" not in text(asked(client, "device", device)), "and no link to nothing"


def test_the_page_of_the_device_opens_both(device):
    page = text(asked(signed_in("mechanic", device.site), "device", device))
    for name in BOTH:
        assert f'href="{reverse(name, args=[device.pk])}"' in page
