"""The words of the trade for each kind of device: parts, what is seen on them, what is done.

Suggestions beside a box that takes anything; none is forced. What is usually measured carries a
hint with its source, which is shown and never judged: a limit is the model's own, entered by an
engineer with its source.
"""

import re
from dataclasses import dataclass

RENEWED = re.compile(r"(?<!not )(?<!be )\b(replaced|renewed)\b|\bnew (disc|spring)\b", re.I)
MEASURED = "measured"  # the condition of a line that holds a figure and nothing else
SPRING, BELLOWS, PILOT = "spring", "bellows", "pilot"
RUPTURE_DISC, PIN, VENT = "rupture_disc", "pin", "vent"


@dataclass(frozen=True)
class Usual:
    """A measurement usually taken; `hint` is what is commonly looked for, and `source` says so."""

    part: str
    measure: str
    hint: str = ""
    source: str = ""


@dataclass(frozen=True)
class Trade:
    """What a kind of device is made of, and how people speak of it."""

    parts: tuple[str, ...]
    conditions: tuple[str, ...]
    actions: tuple[str, ...]
    usual: tuple[Usual, ...] = ()
    is_lapped: bool = True  # it has a seat to be checked with marking blue
    asked: tuple[str, ...] = ()  # the parts somebody says something of, each time


_SEEN = (
    "good", "clean", "deposits", "corroded", "pitted", "scored", "steam cut", "worn", "galled",
    "cracked", "bent", "seized", "broken", "missing", "wrong material",
)  # fmt: skip
_DONE = (
    "cleaned", "lapped", "machined", "polished", "replaced", "repaired", "greased", "left as it is",
)  # fmt: skip
_SPRING_PARTS = (
    "spring", "spring washer", "disc", "disc holder", "nozzle", "nozzle seat", "disc seat",
    "spindle", "guide", "lower ring", "upper ring", "ring pin", "compression screw", "lock nut",
    "lever", "lifting nut", "cap", "bonnet", "body", "gasket", "studs and nuts", "nameplate",
)  # fmt: skip
_SPRING_USUAL = (
    Usual("spring", "free height", "as the maker's drawing says"),
    Usual(
        "spring",
        "permanent set",
        "no more than 0.5 % of the free height",
        "ASME VIII, from memory; the maker's figure rules",
    ),
    Usual("spindle", "run-out", "as the maker says"),
    Usual("nozzle seat", "width", "as the maker says"),
    Usual("disc seat", "width", "as the maker says"),
    Usual("lever", "play", "about 1/16 in to the lifting nut, or as the maker says",
          "common practice"),
    Usual("lever", "lifts at", "works at 75 % of set", "46 CFR 54.15-10(c)"),
)  # fmt: skip
_SEATED = Trade(_SPRING_PARTS, _SEEN, _DONE, _SPRING_USUAL)

TRADES: dict[str, Trade] = {
    SPRING: _SEATED,
    BELLOWS: Trade(
        ("bellows", "bellows gasket", "bonnet vent", *_SPRING_PARTS),
        (*_SEEN, "holed", "bonnet vent plugged"),
        _DONE,
        (*_SPRING_USUAL, Usual("bellows", "leak test pressure", "as the maker says")),
    ),
    PILOT: Trade(
        (
            "pilot spring", "pilot disc", "pilot seat", "pilot filter", "sensing line", "dome",
            "dome vent", "piston", "piston seal", "liner", "soft seat", "main disc", "main seat",
            "nozzle", "backflow preventer", "field test connection", "body", "gasket",
        ),
        (*_SEEN, "plugged", "swollen", "hardened", "extruded"),
        (*_DONE, "flushed"),
        (
            Usual("pilot spring", "free height", "as the maker's drawing says"),
            Usual("piston", "clearance in the liner", "as the maker says"),
        ),
        asked=(
            "pilot seat", "pilot filter", "sensing line", "main seat", "field test connection",
            "backflow preventer",
        ),
    ),
    RUPTURE_DISC: Trade(
        (
            "disc", "holder", "inlet seat", "outlet seat", "vacuum support", "knife blades",
            "gasket", "studs and nuts", "tell-tale", "burst sensor", "flow tag",
        ),
        (
            "good", "intact", "burst", "buckled", "reversed", "pinholed", "dented", "corroded",
            "deposits", "fatigued", "fitted upside down", "wrong disc", "damaged in handling",
            "tag points with the flow", "tag points against the flow", "no pressure", "pressure",
        ),
        ("replaced", "cleaned", "turned the right way", "torqued as the maker says"),
        (
            Usual("disc", "lot", "of the disc that goes in, off its tag"),
            Usual("disc", "burst pressure", "of the disc that goes in, off its tag"),
            Usual("disc", "burst temperature", "of the disc that goes in, off its tag"),
            Usual("studs and nuts", "torque", "as the maker of the disc says, in its sequence"),
        ),
        is_lapped=False,
        asked=("disc", "holder", "inlet seat", "outlet seat", "flow tag", "tell-tale"),
    ),
    PIN: Trade(
        ("pin", "pin holder", "piston", "piston seal", "seat", "stem", "body", "gasket"),
        ("good", "buckled", "bent", "corroded", "seal worn", "deposits", "wrong pin", "seized"),
        ("pin replaced", "seal replaced", "cleaned", "greased", "left as it is"),
        (
            Usual("pin", "lot", "of the pin that goes in, off its tag"),
            Usual("pin", "set pressure", "of the pin that goes in, off its tag"),
            Usual("pin", "diameter", "as the maker's pin list says"),
            Usual("pin", "length", "as the maker's pin list says"),
        ),
        is_lapped=False,
        asked=("pin", "pin holder", "stem", "seat"),
    ),
    VENT: Trade(
        (
            "pressure pallet", "vacuum pallet", "pallet diaphragm", "pallet guide", "seat ring",
            "weights", "spring", "flame arrester", "screen", "hood", "body", "gasket",
        ),
        (*_SEEN, "stuck", "iced", "plugged", "diaphragm torn"),
        (*_DONE, "diaphragm replaced", "screen cleaned"),
        (
            Usual("pressure pallet", "weight", "as the nameplate says"),
            Usual("vacuum pallet", "weight", "as the nameplate says"),
        ),
    ),
}  # fmt: skip


def trade_of(kind: str) -> Trade:
    """The words for a kind of device; those of a spring valve where the kind is not known."""
    return TRADES.get(kind, _SEATED)
