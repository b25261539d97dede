"""Scene -> SVG text. Pure strings: the template tag alone calls the result safe.

Percentages place everything across; a glyph is a nested svg put at a percentage, so its shape is
never stretched. No style attribute anywhere: the site's content security policy refuses them.
"""

from collections.abc import Callable
from html import escape
from typing import Any

from fleet.drawings.scene import Circle, Glyph, Line, Link, Mark, Rect, Rule, Scene, Stripe, Text


def render(scene: Scene) -> str:
    """One `<svg>`: a labelled picture, or a labelled group where its marks are links."""
    linked = any(type(mark) is Link for mark in scene.marks)
    ground = [mark for mark in scene.marks if type(mark) in FULL_HEIGHT]
    marks = "".join(map(_mark, (mark for mark in scene.marks if type(mark) not in FULL_HEIGHT)))
    if scene.is_centred:
        marks = f'<svg y="50%" overflow="visible">{marks}</svg>'
    return (
        f'<svg class="draw {escape(scene.css)}" width="100%" height="{scene.height:g}" '
        f'role="{"group" if linked else "img"}" aria-label="{escape(scene.label)}">'
        f"{''.join(map(_mark, ground))}{marks}</svg>"
    )


def _mark(mark: Mark) -> str:
    return DRAWERS[type(mark)](mark)


def _line(m: Line) -> str:
    return (
        f'<line class="{escape(m.css)}" x1="{m.x1:.2f}%" y1="{m.y1:.1f}" '
        f'x2="{m.x2:.2f}%" y2="{m.y2:.1f}"/>'
    )


def _rect(m: Rect) -> str:
    return (
        f'<rect class="{escape(m.css)}" x="{m.x:.2f}%" y="{m.y:.1f}" '
        f'width="{m.width:.2f}%" height="{m.height:.1f}"/>'
    )


def _rule(m: Rule) -> str:
    return f'<line class="{escape(m.css)}" x1="{m.x:.2f}%" y1="0" x2="{m.x:.2f}%" y2="100%"/>'


def _stripe(m: Stripe) -> str:
    return (
        f'<rect class="{escape(m.css)}" x="{m.x:.2f}%" y="0" width="{m.width:.2f}%" height="100%">'
        f"<title>{escape(m.title)}</title></rect>"
    )


def _circle(m: Circle) -> str:
    return f'<circle class="{escape(m.css)}" cx="{m.x:.2f}%" cy="{m.y:.1f}" r="{m.radius:g}"/>'


def _glyph(m: Glyph) -> str:
    end = "z" if m.closed else ""
    path = "".join(
        "M" + "L".join(f"{dx:g} {dy:g}" for dx, dy in outline) + end for outline in m.outlines
    )
    return (
        f'<svg x="{m.x:.2f}%" y="{m.y:.1f}" overflow="visible">'
        f'<path class="{escape(m.css)}" d="{path}"/></svg>'
    )


def _text(m: Text) -> str:
    aside = f' dx="{m.dx:g}"' if m.dx else ""
    anchor = f' text-anchor="{m.anchor}"' if m.anchor != "start" else ""
    return (
        f'<text class="{escape(m.css)}" x="{m.x:.2f}%" y="{m.y:.1f}"{aside}{anchor}>'
        f"{escape(m.words)}</text>"
    )


def _link(m: Link) -> str:
    label = escape(m.label)
    if not m.href:
        return f"<g><title>{label}</title>{''.join(map(_mark, m.marks))}</g>"
    return (
        f'<a href="{escape(m.href)}" aria-label="{label}"><title>{label}</title>'
        f"{''.join(map(_mark, m.marks))}</a>"
    )


FULL_HEIGHT = frozenset({Rule, Stripe})
DRAWERS: dict[type, Callable[[Any], str]] = {
    Line: _line,
    Rect: _rect,
    Rule: _rule,
    Stripe: _stripe,
    Circle: _circle,
    Glyph: _glyph,
    Text: _text,
    Link: _link,
}
