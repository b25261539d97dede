"""Reading drawings back: the markup parsed by the standard library's own XML parser."""

from xml.etree import ElementTree

from fleet.drawings.svg import render


def parsed(scene):
    """The scene's SVG as an element tree; fails on anything that is not well-formed XML."""
    return ElementTree.fromstring(render(scene))


def by_class(root, word):
    return [node for node in root.iter() if word in node.get("class", "").split()]


def percent(node, name):
    text = node.get(name)
    assert text.endswith("%"), f"{name}={text} is not a share of the width"
    return float(text[:-1])
