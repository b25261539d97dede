"""Scenes beneath each other as one SVG file that stands without the site: no style sheet, no link.

The marks are those of the page, to the pixel; each word of css becomes its ink (`inks.INK`) as
presentation attributes. The same scenes give the same text.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from textwrap import wrap

from fleet.drawings.inks import ACCENT, BLACK, INK, PAPER, SOFT
from fleet.drawings.scene import Scene
from fleet.drawings.svg import render

WIDE, MARGIN = 960, 24
LINE, CHARACTERS = 17, 120  # pixels from line to line; letters that fit across
FONT = "system-ui, 'DejaVu Sans', Arial, sans-serif"
# What is typed is escaped and has no `<`. A path that is not closed is never filled.
CLASSED = re.compile(r'<(\w+) class="([^"]*)"( d="[^"]*")?')
NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


@dataclass(frozen=True)
class Part:
    """One drawing with its own heading; an axis has none."""

    title: str
    aside: str
    scene: Scene


def standalone(title: str, lines: Sequence[str], parts: Sequence[Part]) -> str:
    """A whole file: `title` and `lines` above, then the parts over one width."""
    sheet = _Sheet()
    sheet.line(title, 'font-size="20" font-weight="600"', BLACK, 26)
    for words in lines:
        sheet.line(words, 'font-size="13"', SOFT)
    for part in parts:
        sheet.part(part)
    said = [*lines, *(part.scene.label for part in parts)]
    whole = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE}" height="{sheet.y + MARGIN:g}" '
        f'viewBox="0 0 {WIDE} {sheet.y + MARGIN:g}" role="img" aria-labelledby="title desc" '
        f'font-family="{FONT}"><title id="title">{escape(title)}</title>'
        f'<desc id="desc">{escape(". ".join(word.rstrip(".") for word in said))}.</desc>'
        f'<rect width="100%" height="100%" fill="{PAPER}"/>{"".join(sheet.drawn)}</svg>\n'
    )
    return NOT_XML.sub("\N{REPLACEMENT CHARACTER}", whole)


class _Sheet:
    """Filled from the top."""

    def __init__(self) -> None:
        self.drawn: list[str] = []
        self.y: float = MARGIN

    def line(self, words: str, look: str, fill: str, leading: float = LINE) -> None:
        for row in wrap(words, CHARACTERS):
            self.y += leading
            place = f'x="{MARGIN}" y="{self.y - 4:g}"'
            self.drawn.append(f'<text {place} {look} fill="{fill}">{escape(row)}</text>')

    def part(self, part: Part) -> None:
        if part.title:
            self.y += 14
            self.line(part.title, 'font-size="14" font-weight="600"', ACCENT, 20)
            self.line(part.aside, 'font-size="12"', SOFT)
        high = part.scene.height
        self.drawn.append(
            f'<svg x="{MARGIN}" y="{self.y:g}" width="{WIDE - 2 * MARGIN}" height="{high:g}" '
            f'overflow="visible">{inked(render(part.scene))}</svg>'
        )
        self.y += high


def inked(markup: str) -> str:
    """The drawing of a page with the look of every class written at its mark."""
    return CLASSED.sub(_look, markup)


def _look(match: re.Match) -> str:
    name, css, path = match.group(1), match.group(2), match.group(3) or ""
    if name == "svg":
        return '<svg overflow="visible"'
    ink = INK[css]
    if name == "text":
        return f'<text font-size="11.5" fill="{ink.stroke or ink.fill or BLACK}"'
    if not ink.stroke and not ink.fill:
        return f'<{name} fill="none" pointer-events="all"{path}'
    dash = f' stroke-dasharray="{" ".join(map(str, ink.dash))}"' if ink.dash else ""
    stroke = f' stroke="{ink.stroke}" stroke-width="{ink.width:g}"{dash}' if ink.stroke else ""
    is_open = name == "path" and not path.endswith('z"')
    fill = "none" if is_open else ink.fill or "none"
    return f'<{name} fill="{fill}"{stroke}{path}'
