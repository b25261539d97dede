"""Devices: what each one is, where its rings stand, and the rows of the devices sheet."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction

from inspections.demo.catalog import MODELS, Model
from inspections.demo.dice import Dice
from inspections.demo.plant import Group, Position

# Orifice letter -> area in square inches (API Std 526, seen) and a seat diameter to suit.
ORIFICES = {
    "D": ("0.110", "1/2"),
    "E": ("0.196", "5/8"),
    "F": ("0.307", "3/4"),
    "G": ("0.503", "15/16"),
    "H": ("0.785", "1 1/8"),
    "J": ("1.287", "1 7/16"),
    "K": ("1.838", "1 3/4"),
    "L": ("2.853", "2 1/8"),
    "M": ("3.60", "2 3/8"),
    "Q": ("11.05", "4 1/8"),
    "R": ("16.0", "5"),
}
PSI = {"psig": Decimal(1), "barg": Decimal("14.5038"), "kPag": Decimal("0.145038")}
FREE_STEPS = 40  # eighths of a turn before the screw meets the spring
SCREW_LEAD, QUARTER_PI = Decimal("0.125"), Decimal("0.785398")
SPRING_BAND = Decimal("0.12")
HAS_A_RATE = {"QM-40", "QM-40B", "BV-900"}


@dataclass
class Device:
    """`settings` counts steps of each setting point; `level` is the last as-left in 0.01 %."""

    number: str
    serial: str
    group: Group
    delivered_on: date
    settings: dict[str, int] = field(default_factory=dict)
    datums: dict[str, str] = field(default_factory=dict)  # where not the model's own
    level: int = 0
    seal: str = ""
    status: str = "available"
    at: Position | None = None
    ready_on: date = date.min
    shelf_expires_on: date | None = None
    note: str = ""
    lot: str = ""

    @property
    def model(self) -> Model:
        return MODELS[self.group.model]

    @property
    def dice(self) -> Dice:
        return Dice("device", self.number)


def new_device(number: int, group: Group, delivered_on: date) -> Device:
    device = Device(f"RD-{number}", "", group, delivered_on)
    dice = device.dice
    device.serial = f"{device.model.serial}{dice.whole(10000, 98999)}"
    device.settings = {p.setting: dice.whole(p.low, p.high) for p in device.model.points}
    if group.model == "DF-7":
        device.lot = f"L{delivered_on.year % 100}{dice.whole(100, 989)}"
    return device


def row(device: Device) -> dict[str, object]:
    group, model = device.group, device.model
    return {
        "device": device.number,
        "serial": device.serial,
        "maker": model.maker,
        "model": model.name,
        "kind": model.kind,
        "nameplate_set": group.pressure(group.set),
        "spring_range": _spring_range(device),
        "inlet": group.inlet,
        "outlet": group.outlet,
        "orifice": group.orifice.rstrip("2"),
        "seat": "soft" if group.model == "ST-2" and group.phase == "gas" else _metal(device),
        "rated_capacity": rated_capacity(group),
        "lot": device.lot,
        "burst_temperature": "120 degC" if group.model == "DF-7" else "",
        "status": device.status,
        "shelf_expires_on": device.shelf_expires_on,
        "note": device.note,
        **_spring(device),
    }


def _metal(device: Device) -> str:
    return "" if device.model.kind in ("rupture_disc", "vent") else "metal"


def _spring_range(device: Device) -> str:
    """The set pressures its spring may be used for, about the set pressure."""
    if device.model.kind not in ("spring", "bellows"):
        return ""
    low, high = (device.group.set * (1 + sign * SPRING_BAND) for sign in (-1, 1))
    places = device.group.set.as_tuple().exponent
    low, high = (end.quantize(Decimal(1).scaleb(int(places))) for end in (low, high))
    return f"{low} to {device.group.pressure(high)}"


def _spring(device: Device) -> dict[str, object]:
    """Spring, rate, lead and seat, such that the screw's turns give the set pressure."""
    if device.group.model not in HAS_A_RATE:
        return {}
    group = device.group
    seat = ORIFICES[group.orifice.rstrip("2")][1]
    turns = Decimal(device.settings["compression_screw"] - FREE_STEPS) / 8
    psi_per_turn = group.cdtp * PSI[group.unit_of_pressure] / turns
    rate = psi_per_turn * _area(seat) / SCREW_LEAD
    rate = (rate / 10).to_integral_value() * 10
    return {
        "spring": f"{group.model}-{group.orifice}{device.dice.whole(11, 39)}",
        "spring_rate": f"{rate} lb/in",
        "screw_lead": "1/8 in",
        "seat_diameter": f"{seat} in",
    }


def _area(seat: str) -> Decimal:
    """Square inches of a seat such as `1 3/4` inches across."""
    diameter = sum((Fraction(part) for part in seat.split()), Fraction(0))
    return QUARTER_PI * Decimal(diameter.numerator**2) / Decimal(diameter.denominator**2)


def rated_capacity(group: Group, percent: int = 100) -> str:
    """A believable capacity (not a sizing): in proportion to area and pressure."""
    if group.model in ("OV-2", "DF-7"):
        return f"{int(group.inlet[0]) ** 2 * 50 * percent // 100} Nm3/h"
    area = Decimal(ORIFICES[group.orifice.rstrip("2")][0])
    psi = group.set * PSI[group.unit_of_pressure]
    if group.phase == "liquid":
        amount, unit = area * psi.sqrt() * Decimal("6.0"), "m3/h"
    else:
        amount, unit = area * (psi * Decimal("1.1") + Decimal("14.7")) * 21, "kg/h"
    return f"{_three_digits(amount * percent / 100)} {unit}"


def _three_digits(amount: Decimal) -> str:
    places = 2 - amount.adjusted()
    rounded = amount.quantize(Decimal(1).scaleb(-places)) if places > 0 else round(amount, places)
    return f"{rounded:f}"
