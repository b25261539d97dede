"""How each word of `css` looks where no style sheet reaches: on paper and in a file of its own."""

from typing import NamedTuple


class Ink(NamedTuple):
    """How a word of `css` looks on paper."""

    stroke: str = ""
    fill: str = ""
    width: float = 1.0
    dash: tuple[float, ...] = ()


BLACK, SOFT, HAIR, ACCENT = "#000000", "#444444", "#bbbbbb", "#0d4d63"
LATE, WARN, PAPER, BANDLINE = "#8a1d10", "#6d4200", "#ffffff", "#a3b48f"
INK: dict[str, Ink] = {
    "year": Ink(HAIR, width=0.5),
    "tick": Ink(BLACK, width=0.7),
    "today": Ink(ACCENT, ACCENT),
    "plan": Ink(fill="#c6d7de"),
    "wait": Ink(BLACK, width=1.5),
    "wait unset": Ink(BLACK, width=1.5, dash=(2, 4)),
    "due": Ink(BLACK, width=2),
    "due late": Ink(LATE, width=2),
    "due soon": Ink(WARN, width=2),
    "over": Ink(LATE, width=4.5),
    "defer": Ink(WARN, width=1.5, dash=(3, 3)),
    "defer-end": Ink(WARN, width=2),
    "beyond": Ink(BLACK, width=1.5),
    "beyond late": Ink(LATE, width=1.5),
    "beyond soon": Ink(WARN, width=1.5),
    "found": Ink(fill=BLACK),
    "left": Ink(ACCENT, PAPER, 1.5),
    "found outside": Ink(fill=LATE),
    "left outside": Ink(LATE, PAPER, 1.5),
    "censored": Ink(LATE, width=1.5),
    "missing": Ink(SOFT, dash=(2, 2)),
    "service": Ink(BLACK, width=1.2),
    "shop": Ink(SOFT, dash=(1, 2)),
    "band": Ink(fill="#e4ebdc"),
    "edge": Ink(BANDLINE, width=0.7),
    "centre": Ink(BANDLINE, width=0.7, dash=(2, 2)),
    "scale": Ink(HAIR, width=0.5),
    "cut": Ink(WARN, WARN, 1.2),
    "outside": Ink(LATE, LATE),
    "hit": Ink(),
    "": Ink(SOFT, SOFT),
}
