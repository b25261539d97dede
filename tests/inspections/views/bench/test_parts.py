"""The inspect step: figures, findings, contact checks, as typed and as judged. Limits invented."""

from html import unescape

import pytest
from django.urls import reverse

from inspections.models import Finding, PartLimit
from tests import factories
from tests.fleet.views.signed_in import text
from tests.inspections.views.bench.pages import client_of, fields_of, send, stored, url

pytestmark = pytest.mark.django_db
HEIGHT = "m_spring_free_height"


@pytest.fixture(autouse=True)
def limit(shop):
    return factories.PartLimitFactory(model=shop.model, low="118.5 mm")


def figure(value, action=""):
    return {f"{HEIGHT}-value": value, f"{HEIGHT}-action": action}


def findings(job):
    rows = Finding.objects.filter(inspection=job).order_by("pk")
    return [(f.part, f.condition, f.action, f.measure, f.value, f.order) for f in rows]


def checks(job):
    return [(c.order, c.is_unbroken, c.note) for c in job.contact_checks.all()]


# Figures


def test_a_figure_is_kept_as_typed_and_shown_again(mechanic, job):
    send(mechanic, job, "inspect", **figure("118 mm", "replaced"))
    assert findings(job) == [("spring", "measured", "replaced", "free height", "118 mm", 1)]
    again = fields_of(mechanic.get(url(job, "inspect")))
    assert again[f"{HEIGHT}-value"] == "118 mm" and again["0-part"] == ""
    send(mechanic, job, "inspect")
    assert len(findings(job)) == 1


def test_findings_and_figures_of_one_part_are_counted_together(mechanic, job):
    typed = {"0-part": "spring", "0-condition": "corroded", "1-part": "disc"}
    send(mechanic, job, "inspect", **typed, **{"1-condition": "scored"}, **figure("119 mm"))
    assert [(row[0], row[1], row[5]) for row in findings(job)] == [
        ("spring", "corroded", 1),
        ("disc", "scored", 1),
        ("spring", "measured", 2),
    ]


def test_a_figure_that_is_emptied_is_gone(mechanic, job):
    send(mechanic, job, "inspect", **figure("118 mm"))
    send(mechanic, job, "inspect", **figure(""))
    assert findings(job) == []


def test_what_was_done_wants_its_figure(mechanic, job):
    page = send(mechanic, job, "inspect", **figure("", "replaced"))
    assert page.status_code == 422 and "the figure this is about" in text(page)
    assert fields_of(page)[f"{HEIGHT}-action"] == "replaced"


def test_a_figure_survives_that_its_limit_is_taken_away_meanwhile(mechanic, job, limit):
    limit.part = "stem"
    limit.measure = "length"
    limit.save()
    page = mechanic.get(url(job, "inspect"))
    PartLimit.objects.all().delete()
    send(mechanic, job, "inspect", page=page, **{"m_stem_length-value": "90 mm"})
    assert findings(job) == [("stem length", "measured", "", "figure", "90 mm", 1)]
    assert fields_of(mechanic.get(url(job, "inspect")))["0-value"] == "90 mm"


def test_the_page_says_each_limit_and_each_hint_with_its_source(mechanic, job):
    page = unescape(text(mechanic.get(url(job, "inspect"))))
    assert "118.5 mm or more (maker's drawing)" in page
    assert "About 1/16 in to the lifting nut, or as the maker says (common practice)" in page


@pytest.mark.parametrize(
    ("kind", "words", "strange"),
    [
        ("rupture_disc", "knife blades", "compression screw"),
        ("pilot", "dome vent", "compression screw"),
        ("vent", "pressure pallet", "compression screw"),
        ("pin", "pin holder", "compression screw"),
        ("bellows", "bonnet vent", "pressure pallet"),
    ],
)
def test_every_kind_offers_its_own_words_and_forces_none(shop, mechanic, job, kind, words, strange):
    shop.device.kind = kind
    shop.device.save()
    step = "disc" if kind in ("rupture_disc", "pin") else "inspect"
    page = mechanic.get(url(job, step)).content.decode()
    assert f'<option value="{words}">' in page and f'<option value="{strange}">' not in page
    assert ("check-1-ring" in page) == (kind not in ("rupture_disc", "pin"))
    send(mechanic, job, step, **{"0-part": "my own word", "0-condition": "as I saw it"})
    assert findings(job)[0][:2] == ("my own word", "as I saw it")


# Judged while it is typed


def judged(client, job, **asked):
    return unescape(text(client.get(reverse("bench_measure", args=[job.pk]), asked)))


def test_a_figure_is_judged_while_it_is_typed(mechanic, job):
    fixed = {"row": HEIGHT, "part": "spring", "measure": "free height"}
    said = judged(mechanic, job, **fixed, **figure("118 mm"))
    assert "118 mm: 0.5 mm under the low limit of 118.5 mm (maker's drawing)" in said
    assert "within" in judged(mechanic, job, **fixed, **figure("118.5 mm"))
    assert "expected" in judged(mechanic, job, **fixed, **figure("118"))
    assert judged(mechanic, job, **fixed, **figure("")).strip() == ""


def test_a_finding_that_names_a_limited_measure_is_judged_too(mechanic, job):
    row = {"row": "0", "0-part": "Spring", "0-measure": "Free height", "0-value": "118 mm"}
    assert "0.5 mm under" in judged(mechanic, job, **row)
    assert judged(mechanic, job, **row | {"0-measure": "solid height"}).strip() == ""
    hostile = mechanic.get(
        reverse("bench_measure", args=[job.pk]), row | {"0-value": "<script>x</script>"}
    )
    assert b"<script" not in hostile.content and b"&lt;script" in hostile.content


def test_nobody_elsewhere_is_answered(job):
    stranger = client_of(factories.MembershipFactory(role="mechanic").user)
    for name in ("bench_measure", "bench_nuts"):
        assert stranger.get(reverse(name, args=[job.pk])).status_code == 404


# The loop of contact checks


def ring(order, ring, note=""):
    return {f"check-{order}-ring": ring, f"check-{order}-note": note}


def test_checks_are_counted_until_the_ring_is_unbroken(mechanic, job):
    send(mechanic, job, "inspect", **ring(1, "broken", "lapped with 600"))
    page = mechanic.get(url(job, "inspect"))
    assert "Contact check 2" in text(page)
    send(mechanic, job, "inspect", page=page, **ring(2, "unbroken"))
    assert checks(job) == [(1, False, "lapped with 600"), (2, True, "")]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (ring(1, "broken") | ring(2, "unbroken"), "what was done before the next check?"),
        (ring(1, "", "lapped"), "was the ring unbroken or broken?"),
        (ring(2, "unbroken"), "was the ring unbroken or broken?"),
        (ring(1, "nearly"), "not one of the available choices"),
    ],
)
def test_a_loop_with_a_hole_in_it_is_said_at_its_place(mechanic, job, typed, words):
    page = send(mechanic, job, "inspect", **typed)
    assert page.status_code == 422 and words in text(page)
    assert checks(job) == []


def test_the_signature_waits_for_an_unbroken_ring(shop, mechanic, job):
    shop.popped(
        job,
        settings={("lower_ring", "as_found"): "5 notches", ("lower_ring", "as_left"): "5 notches"},
    )
    typed = {"0-part": "disc", "0-condition": "scored", "0-action": "lapped"}
    send(mechanic, job, "inspect", **typed)
    page = mechanic.get(reverse("bench_sign", args=[job.pk]))
    assert "disc was lapped: a contact check with an unbroken ring" in text(page)
    send(mechanic, job, "inspect", **ring(1, "unbroken"))
    assert "Sign as" in text(mechanic.get(reverse("bench_sign", args=[job.pk])))


def test_two_people_check_one_after_another(mechanic, other, job):
    page = other.get(url(job, "inspect"))
    send(mechanic, job, "inspect", **ring(1, "broken", "lapped"))
    answer = send(other, job, "inspect", page=page, **{"0-part": "disc", "0-condition": "good"})
    assert checks(job) == [(1, False, "lapped")] and "both kept" in text(answer)


def test_two_rings_seen_at_once_are_a_clash_that_both_are_shown(mechanic, other, job):
    page = other.get(url(job, "inspect"))
    send(mechanic, job, "inspect", **ring(1, "broken", "lapped"))
    answer = send(other, job, "inspect", page=page, **ring(1, "unbroken"))
    assert answer.status_code == 409 and "contact check 1" in text(answer)
    assert checks(job) == [(1, False, "lapped")]


def test_the_record_shows_the_checks_in_order(mechanic, job):
    send(mechanic, job, "inspect", **ring(1, "broken", "lapped"))
    send(mechanic, job, "inspect", **ring(2, "unbroken"))
    assert "Broken ring: lapped" in text(mechanic.get(reverse("inspection", args=[job.pk])))


def test_the_record_names_the_parts_replaced(mechanic, job):
    typed = {"0-part": "gasket", "0-condition": "worn", "0-action": "replaced", "1-part": "disc"}
    typed |= {"1-condition": "scored", "1-action": "not replaced"}
    send(mechanic, job, "inspect", **typed, **figure("118 mm", "replaced"))
    page = text(mechanic.get(reverse("inspection", args=[job.pk])))
    assert "<b>Replaced:</b> gasket, spring." in page


# Nuts


@pytest.mark.parametrize("nuts", ["3", "8", "32"])
def test_the_order_of_the_nuts_is_drawn(mechanic, job, nuts):
    page = mechanic.get(reverse("bench_nuts", args=[job.pk]), {"nuts": nuts})
    assert f"{nuts} nuts numbered clockwise" in page.content.decode()
    assert "How many nuts" in text(mechanic.get(url(job, "reassemble")))


@pytest.mark.parametrize("nuts", ["2", "33", "1e3", "eight", "²", "-8", "9" * 50])
def test_a_number_of_nuts_that_cannot_be_drawn_is_answered_with_words(mechanic, job, nuts):
    page = mechanic.get(reverse("bench_nuts", args=[job.pk]), {"nuts": nuts})
    assert page.status_code == 200 and "3 to 32 nuts were expected" in text(page)
    assert stored(job).version == job.version
