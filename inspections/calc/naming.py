"""What settings are called: plain words, and the bare ring names that each model means otherwise.

Trade names collide: on a one-ring valve the only ring is often "the adjusting ring", on a two-ring
valve the upper one sets blowdown. So a bare name is never guessed; synonyms belong to a model.
"""

import re
from collections.abc import Collection

SLUG = re.compile(r"[a-z][a-z0-9_]*")
SINGLE, LOWER, UPPER = "single_ring", "lower_ring", "upper_ring"
SCREW = "compression_screw"  # must move when set pressure is restored: never needs an excuse
KNOWN = (LOWER, UPPER, SINGLE, SCREW, "lever_play", "spring_height")
PRESSURE = "set_pressure"
BARE = {"adjusting_ring", "blowdown_ring", "ring"}  # each means another ring on another model
HEIGHT = "_height"

# Direction and effect differ by ring (a valve handbook and makers' manuals, as published). Never
# said without the ring's name; of a one-ring valve its maker alone says what raising does.
EFFECTS = {
    LOWER: "Raising the lower ring lengthens blowdown and cuts simmer.",
    UPPER: "Raising the upper ring shortens blowdown.",
}


def plain(word: str) -> str:
    return " ".join(word.replace("_", " ").split()).casefold()


def slug_of(words: str) -> str:
    return plain(words).replace(" ", "_")


def words_of(setting: str) -> str:
    return setting.replace("_", " ")


def synonyms_of(typed: str) -> list[str]:
    """The names a model has for one of its settings, typed with semicolons between them."""
    return [plain(word) for word in typed.split(";") if word.strip()]


def why_not_a_name(setting: str) -> str:
    """What is expected instead of this name of a setting, or "" where it will do."""
    if not SLUG.fullmatch(setting) or setting == PRESSURE or setting in BARE:
        return "a plain word such as " + ", ".join(KNOWN)
    return ""


def why_not_beside(setting: str, others: Collection[str]) -> str:
    """A model has one ring, or a lower and an upper one: why this one does not go with others."""
    two = sorted({LOWER, UPPER} & set(others))
    if setting == SINGLE and two:
        return f"one ring or two: this model has a {words_of(two[0])} already"
    if setting in (LOWER, UPPER) and SINGLE in others:
        return "one ring or two: this model has a single ring already"
    return ""


def checked_by(setting: str) -> str:
    """The setting whose height in length checks this one, counted in turns or notches."""
    return setting + HEIGHT


def checks(setting: str) -> str:
    """The counted setting that a height checks, "" where its name says none."""
    return setting.removesuffix(HEIGHT) if setting.endswith(HEIGHT) else ""
