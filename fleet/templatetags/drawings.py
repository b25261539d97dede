"""Where drawings become markup: the one place that calls their text safe (svg.py escapes it)."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from fleet.drawings.scene import Scene
from fleet.drawings.states import state_of
from fleet.drawings.svg import render

register = template.Library()


@register.simple_tag
def draw(scene: Scene) -> SafeString:
    """`{% draw scene %}`: any Scene as SVG."""
    return mark_safe(render(scene))


@register.simple_tag
def state(status: str, words: str = "", reason: str = "") -> SafeString:
    """`{% state "overdue" "overdue 41 days" reason %}`: shape and word, the reason beneath."""
    row = state_of(status)
    said = format_html(
        '<span class="state {}">'
        '<svg width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">{}</svg>{}</span>',
        row.tone,
        mark_safe(row.shape),
        words or row.words,
    )
    return format_html("{}<small>{}</small>", said, reason) if reason else said
