"""Two people on one job: what each typed is kept, and a clash is shown field by field."""

from dataclasses import dataclass

from django.forms import BoundField
from django.http import QueryDict

from inspections.forms.inputs import StepForm


@dataclass(frozen=True)
class Clash:
    """A field both changed: what is stored now, and what this person typed."""

    label: str
    stored: str
    typed: str


def merge(typed: QueryDict, fresh: StepForm) -> tuple[QueryDict, list[Clash]]:
    """Lay what was typed over what is stored now, from what the page showed when it was opened.

    A field the person did not touch takes what is stored; one nobody else touched keeps what was
    typed; one that both changed keeps what was typed and is answered as a clash, so that saving
    again is a decision. `typed` carries the page's own start as `initial-<field>`.
    """
    typed = fresh.rebased(typed)
    merged, clashes = typed.copy(), []
    for name in fresh.fields:
        field = fresh[name]
        now, mine = shown(field), typed.get(name, "")
        base = typed.get(field.html_initial_name, "")
        if mine == base:
            merged[name] = now
        elif now not in (base, mine):
            clashes.append(Clash(fresh.words_for(name), now, mine))
        merged[field.html_initial_name] = now
    return merged, clashes


def shown(field: BoundField) -> str:
    """A field's stored value as its input would show it."""
    value = field.form.get_initial_for_field(field.field, field.name)
    prepared = field.field.prepare_value(value)
    if prepared is None:
        return ""
    formatted = field.field.widget.format_value(prepared)
    if isinstance(formatted, list):
        formatted = formatted[0] if formatted else ""
    return str(formatted or "")
