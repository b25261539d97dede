"""Pages keep the strict content policy: nothing inline, nothing from another host."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
COMMENT = re.compile(r"\{#.*?#\}|\{% comment.*?endcomment %\}|<!--.*?-->|/\*.*?\*/", re.S)
NAMESPACE = re.compile(r"http://www\.w3\.org/\d{4}/\w+")  # a name, not an address
INLINE = {
    "inline style": re.compile(r"""\sstyle\s*=\s*["'{]""", re.I),
    "style element": re.compile(r"<style\b", re.I),
    "event attribute": re.compile(r"""\s(hx-)?on[a-z:-]+\s*=\s*["'{]""", re.I),
    "script without src": re.compile(r"<script\b(?![^>]*\ssrc=)", re.I),
    "script with a body": re.compile(r"<script\b[^>]*>\s*[^\s<]", re.I),
    "javascript address": re.compile(r"javascript:", re.I),
    "evaluated by htmx": re.compile(r"""\shx-(vals|headers)\s*=\s*["']js:""", re.I),
    "clock in a template": re.compile(r"\{%\s*now\b"),
}
ELSEWHERE = re.compile(r"""https?://[\w.-]+|(?:src|href|url\(|@import|["'(])\s*=?\s*["']?//\w""")


def inline(text: str) -> list[str]:
    bare = COMMENT.sub("", text)
    return [name for name, pattern in INLINE.items() if pattern.search(bare)]


def other_hosts(text: str) -> list[str]:
    return ELSEWHERE.findall(NAMESPACE.sub("", COMMENT.sub("", text)))


def files(*suffixes):
    folders = [ROOT / "templates", *ROOT.glob("*/static"), *ROOT.glob("*/templates")]
    found = (path for folder in folders for path in sorted(folder.rglob("*")))
    return [path for path in found if path.suffix in suffixes and ".venv" not in path.parts]


def test_no_template_needs_an_inline_script_or_style():
    found = [f"{p.relative_to(ROOT)}: {inline(p.read_text())}" for p in files(".html", ".svg")]
    assert not [line for line in found if not line.endswith(": []")]


def test_nothing_comes_from_another_host():
    kinds = (".html", ".svg", ".css", ".js", ".json", ".webmanifest")
    found = {p.relative_to(ROOT): other_hosts(p.read_text()) for p in files(*kinds)}
    assert not {path: hosts for path, hosts in found.items() if hosts}


@pytest.mark.parametrize(
    "planted",
    [
        '<p style="color:red">',
        "<svg><rect style='fill:red'/></svg>",
        "<style>p{}</style>",
        '<a onclick="go()">',
        '<a hx-on:click="go()">',
        "<script>go()</script>",
        '<script src="a.js">go()</script>',
        '<a href="javascript:go()">',
        """<a hx-vals='js:{a: 1}'>""",
        "{% now 'Y' %}",
    ],
)
def test_a_planted_inline_is_seen(planted):
    assert inline(planted)


@pytest.mark.parametrize(
    "planted",
    [
        '<script src="https://example.org/a.js"></script>',
        '<script src="//example.org/a.js"></script>',
        "@import '//example.org/a.css'",
        "a { background: url(//example.org/a.png) }",
        'fetch("http://example.org")',
    ],
)
def test_a_planted_host_is_seen(planted):
    assert other_hosts(planted)


def test_what_is_allowed_passes():
    text = (
        "{# style='x' #}<svg xmlns='http://www.w3.org/2000/svg' fill='var(--ink)'></svg>"
        "<script src=\"{% static 'fleet/a.js' %}\" defer></script> on = off // note"
    )
    assert inline(text) == [] and other_hosts(text) == []
