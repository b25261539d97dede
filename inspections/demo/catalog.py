"""Makers, models and what each model can be set to. All invented."""

from dataclasses import dataclass
from fractions import Fraction

FLAT = "ring touching a flat laid on the seat"
HOLDER = "contact with the disc holder"
LIP = "below the body lip"
THREAD = "first thread engagement"
BONNET = "top of screw above bonnet face"
NUT = "play between lever fork and lifting nut"


def unit_word(unit: str, size: Fraction) -> str:
    """`1 notch`, `1/8 turn`, `7 notches`."""
    return {"notches": "notch", "turns": "turn"}.get(unit, unit) if 0 < size <= 1 else unit


@dataclass(frozen=True)
class Point:
    """A setting point, with where new devices stand (`low` to `high`, in `step`s)."""

    setting: str
    measure: str
    unit: str
    datum: str
    positive: str
    step: Fraction
    low: int  # in steps
    high: int
    required: bool = True
    synonyms: str = ""
    source: str = ""

    @property
    def resolution(self) -> str:
        return f"{self.step} {unit_word(self.unit, self.step)}"


def _turns(low: int, high: int, unit: str = "turns") -> Point:
    return Point("compression_screw", "turns", unit, THREAD, "in", Fraction(1, 8), low, high)


@dataclass(frozen=True)
class Model:
    maker: str
    name: str
    kind: str
    serial: str  # what its serial numbers begin with
    points: tuple[Point, ...] = ()

    @property
    def tester(self) -> str:
        return TESTERS[self.maker]


TESTERS = {
    "Quillmere": "A. Merrow",
    "Stannick": "F. Brandreth",
    "Brundavane": "L. Casterby",
    "Perrowe": "D. Illingsworth-Kay",
    "Hexlund": "S. Aronmaki",
    "Dornick Foil": "P. Velthus",
    "Ollervent": "J. Tamsett",
}

_BOOK = {
    name: f"{name} instructions, invented for this demonstration"
    for name in ("QM-40", "QM-40B", "ST-2", "BV-900", "BV-300", "PW-T", "HX-P")
}

MODELS = {
    "QM-40": Model(
        "Quillmere",
        "QM-40",
        "spring",
        "Q40",
        (
            Point("lower_ring", "notches", "notches", FLAT, "up", Fraction(1), -12, -4),
            Point("upper_ring", "length", "in", LIP, "down", Fraction(1, 16), 4, 14),
            _turns(100, 150),
        ),
    ),
    "QM-40B": Model(
        "Quillmere",
        "QM-40B",
        "bellows",
        "Q4B",
        (
            Point("lower_ring", "notches", "notches", FLAT, "up", Fraction(1), -10, -3),
            Point("upper_ring", "notches", "notches", HOLDER, "up", Fraction(1), -28, -12),
            _turns(110, 160),
        ),
    ),
    "ST-2": Model(
        "Stannick",
        "ST-2",
        "spring",
        "S2-",
        (
            Point(
                "single_ring",
                "notches",
                "notches",
                HOLDER,
                "up",
                Fraction(1),
                -9,
                -2,
                synonyms="adjusting ring; blowdown ring",
            ),
            Point("compression_screw", "length", "in", BONNET, "out", Fraction(1, 16), 14, 30),
        ),
    ),
    "BV-900": Model(
        "Brundavane",
        "BV-900",
        "spring",
        "900.",
        (
            Point("lower_ring", "notches", "notches", FLAT, "up", Fraction(1), -14, -6),
            Point("upper_ring", "notches", "notches", HOLDER, "up", Fraction(1), -60, -35),
            _turns(120, 170),
            Point("lever_play", "length", "in", NUT, "up", Fraction(1, 64), 3, 6),
        ),
    ),
    "BV-300": Model(
        "Brundavane",
        "BV-300",
        "spring",
        "300.",
        (
            Point("single_ring", "notches", "notches", HOLDER, "up", Fraction(1), -8, -2),
            Point("lever_play", "length", "in", NUT, "up", Fraction(1, 64), 3, 6, False),
        ),
    ),
    "PW-T": Model(
        "Perrowe",
        "PW-T",
        "spring",
        "PT",
        (Point("compression_screw", "length", "mm", BONNET, "out", Fraction(1, 2), 18, 34, False),),
    ),
    "HX-P": Model("Hexlund", "HX-P", "pilot", "HXP", (_turns(40, 72),)),
    "DF-7": Model("Dornick Foil", "DF-7", "rupture_disc", "DF7-"),
    "OV-2": Model("Ollervent", "OV-2", "vent", "OV2/"),
}


def setting_point_rows() -> list[dict[str, object]]:
    return [
        {
            "maker": model.maker,
            "model": model.name,
            "setting": point.setting,
            "measure": point.measure,
            "datum": point.datum,
            "positive": point.positive,
            "resolution": point.resolution,
            "required": "yes" if point.required else "no",
            "synonyms": point.synonyms,
            "source": _BOOK[model.name],
        }
        for model in MODELS.values()
        for point in model.points
    ]
