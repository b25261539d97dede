"""Navigation, states and the small components, rendered as pages use them."""

import pytest
from django import forms
from django.http import HttpResponse
from django.template import Context, Template
from django.template.loader import render_to_string
from django.urls import path

from fleet.drawings.states import STATES, state_of
from fleet.faults import Fault
from fleet.templatetags.drawings import state
from fleet.templatetags.navigation import DOORS, doors


def answer(request):
    return HttpResponse()


urlpatterns = [
    path("due/" if name == "due_list" else f"{name}/", answer, name=name) for name, _ in DOORS
]
urlpatterns += [path("due/far/", answer, name="far")]


@pytest.mark.urls(__name__)
@pytest.mark.parametrize(
    "path_, here",
    [
        ("/due/", "Due list"),
        ("/bench/7/arrival/", "Bench"),
        ("/tolerances/x/", "Rules"),
        ("/", None),
        ("/people/", None),
    ],
)
def test_a_page_stands_behind_one_door_or_none(path_, here):
    assert [door.words for door in doors(path_) if door.is_here] == ([here] if here else [])
    assert [door.words for door in doors(path_)] == [words for _, words in DOORS]


def test_every_state_is_told_by_its_word_and_shape_without_its_colour():
    """WCAG 2.2, 1.4.1: colour is not the only means. Within what is owed, no two share both."""
    owed = list(STATES)[: list(STATES).index("in")]
    assert len({(STATES[s].words, STATES[s].shape) for s in owed}) == len(owed)
    assert STATES["overdue_deferred"].tone != STATES["compliant"].tone, "never green"


def test_a_state_without_a_row_shows_its_own_word():
    assert state_of("half_way").words == "half way"
    assert "half way" in state("half_way")


def test_words_of_a_state_are_escaped_and_its_reason_stands_beneath():
    html = state("overdue", "<b>41</b> days", "15 months & more")
    assert "&lt;b&gt;41&lt;/b&gt; days</span><small>15 months &amp; more</small>" in html
    assert html.startswith('<span class="state late">')


class OneField(forms.Form):
    pop = forms.CharField(label="First pop", help_text="Number and unit.")
    how = forms.ChoiceField(choices=[("a", "bench"), ("b", "in place")], widget=forms.RadioSelect)


def test_help_and_errors_are_tied_to_their_field():
    form = OneField({})
    html = "".join(
        render_to_string("components/field.html", {"field": field}) for field in form
    )  # fmt: skip
    assert 'aria-describedby="id_pop_helptext id_pop_error"' in html
    for anchor in ("id_pop_helptext", "id_pop_error", "id_how_error"):
        assert html.count(f'id="{anchor}"') == 1
    assert '<label for="id_pop">' in html and 'aria-invalid="true"' in html
    assert "<legend>How" in html


def test_faults_say_what_was_typed_and_where():
    faults = [Fault("set_pressure", "1,035 <psi>", "a number and a unit", "positions", 14)]
    html = render_to_string("components/faults.html", {"faults": faults})
    assert "positions, row 14, set_pressure" in html
    assert "1,035 &lt;psi&gt;" in html and "a number and a unit" in html
    assert not render_to_string("components/faults.html", {"faults": []}).strip()


def test_a_caution_always_defers_to_local_rules():
    html = render_to_string("components/caution.html", {"words": "Pins out."})
    assert "Pins out." in html
    assert "Your procedure, the maker's instructions and the local code rule." in html


def test_a_drawing_in_a_template_is_markup_once():
    template = Template("{% load drawings %}{% state 'compliant' %}")
    assert template.render(Context()).count("<svg") == 1
