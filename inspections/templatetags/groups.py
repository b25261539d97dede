"""What a page asks of a group of first pops."""

from django import template

from inspections.calc.populations import Population

register = template.Library()


@register.filter
def verdicts(group: Population, verdict: str) -> int:
    return group.count(verdict)


@register.filter
def sound(group: Population) -> int:
    return group.judged - group.failed


@register.filter
def pair(one: Population, other: Population) -> tuple[Population, Population]:
    return one, other
