"""What a cell may hold: each kind reads one cell as people type it, or says what was expected."""

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from fleet.calc.durations import parse_duration
from fleet.calc.typed_dates import TypedDate, parse_date
from fleet.calc.units import UnitsError, parse_quantity

CLEAR = object()  # the cell says !clear
CLEAR_WORD = "!clear"
NOT_RECORDED = "not recorded"
STANDS_FOR_NOTHING = {"n/a", "na", "-", "tbc", "tbd", "?"}
SHOWN = 80  # characters of what was typed that an error repeats
# control characters, and those that turn the reading order of what stands around them
HIDDEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u202a-\u202e\u2066-\u2069]")
INVISIBLE = re.compile(r"[\u200b\u2060\ufeff]")  # without width: two names would look like one
LINE_END = re.compile(r"\r\n?")
SPACE = re.compile(r"[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]")


class CellError(ValueError):
    """A cell that cannot be read: what was typed and what was expected."""

    def __init__(self, typed: str, expected: str) -> None:
        self.typed, self.expected = typed[:SHOWN], expected
        super().__init__(f"{self.typed}: {expected}")


@dataclass(frozen=True)
class Reading:
    """How this run reads what could be read two ways, and what day it is."""

    today: date
    decimal_mark: str | None = None
    date_order: str | None = None
    header_unit: str | None = None


Reader = Callable[[str, Reading], Any]


@dataclass(frozen=True)
class Kind:
    """How a cell is read. `takes`: what a spreadsheet may hold there besides text."""

    read: Reader
    takes: frozenset[str] = frozenset()
    is_cached: bool = True
    is_quantity: bool = False


def plain_text(cell: Any, kind: Kind, reading: Reading) -> str:
    """The cell as text; raises CellError where a spreadsheet has changed what was typed."""
    if isinstance(cell, bool):
        if "boolean" in kind.takes:
            return "yes" if cell else "no"
        raise CellError(str(cell).upper(), "text; a spreadsheet has turned it into true or false")
    if isinstance(cell, int | float):
        return _number(cell, kind, reading)
    if isinstance(cell, dict):
        if "date" in cell and "date" in kind.takes:
            return str(cell["date"])
        what, typed = next(iter(cell.items()))
        raise CellError(str(typed), f"text; a spreadsheet has turned what was typed into a {what}")
    return str(cell).strip()


def _number(cell: float, kind: Kind, reading: Reading) -> str:
    text = str(int(cell)) if cell == int(cell) and abs(cell) < 1e15 else repr(cell)
    if "number" not in kind.takes:
        words = "text; a spreadsheet has turned what was typed into a number (00123 becomes 123)"
        raise CellError(text, words)
    if kind.is_quantity and reading.header_unit is None:
        raise CellError(text, "a number with its unit, or the unit in the column's header")
    if "e" in text:
        raise CellError(text, "a number of ordinary size")
    return text


def text(limit: int = 0) -> Kind:
    """Any text on which nothing is decided; its lines end in a line feed.

    limit: the longest the register keeps. What has one may be looked up by it, so that what looks
    alike is read alike: composed letters (Unicode NFC), every kind of space as a plain one.
    """

    def read(typed: str, reading: Reading) -> str:
        if limit and len(typed) > limit:
            raise CellError(typed[:40] + "…", f"at most {limit} characters")
        if typed.isascii() and typed.isprintable():
            return typed
        if HIDDEN.search(typed) or (limit and INVISIBLE.search(typed)):
            raise CellError(ascii(typed[:40]), "text without hidden characters")
        typed = LINE_END.sub("\n", typed)
        return SPACE.sub(" ", unicodedata.normalize("NFC", typed)) if limit else typed

    return Kind(read, is_cached=False)


def telling(limit: int = 0) -> Kind:
    """Text that brings something about: a name, a reason. What stands for nothing tells nothing."""
    plain = text(limit)

    def read(typed: str, reading: Reading) -> str:
        if typed.casefold() in STANDS_FOR_NOTHING:
            raise CellError(typed, "words that say it; leave the cell empty if there is nothing")
        return plain.read(typed, reading)

    return Kind(read, is_cached=False)


def word(choices: Sequence[str]) -> Kind:
    """One of a closed list of words."""
    known = {choice.casefold(): choice for choice in choices}

    def read(typed: str, reading: Reading) -> str:
        found = known.get(typed.casefold())
        if found is None:
            raise CellError(typed, "one of " + ", ".join(choices))
        return found

    return Kind(read)


def quantity(*dimensions: str) -> Kind:
    """A number with its unit; the header may carry the unit instead."""

    def read(typed: str, reading: Reading) -> Any:
        return parse_quantity(
            typed,
            dimensions,
            header_unit=reading.header_unit,
            decimal_mark=reading.decimal_mark,
        )

    return Kind(read, frozenset({"number"}), is_quantity=True)


def quantities(*dimensions: str) -> Kind:
    """Several quantities, separated by `;`. Reads as a tuple."""
    one = quantity(*dimensions)

    def read(typed: str, reading: Reading) -> tuple:
        return tuple(one.read(part.strip(), reading) for part in typed.split(";") if part.strip())

    return Kind(read, frozenset({"number"}), is_quantity=True)


def day(*, partial: bool = False, past: bool = False, not_recorded: bool = False) -> Kind:
    """A date. Reads as a TypedDate; `not recorded`, where it is legal, as those words.

    partial: a month or year alone is kept as typed. past: a day after today is a fault.
    """

    def read(typed: str, reading: Reading) -> TypedDate | str:
        if typed.casefold() == NOT_RECORDED:
            if not_recorded:
                return NOT_RECORDED
            raise CellError(typed, "a date; only the done_on of an old record may be that")
        found = parse_date(typed, reading.date_order)
        if found.is_partial and not partial:
            raise CellError(typed, "a whole date such as 2025-04-03")
        if past and found.on > reading.today:
            raise CellError(typed, f"a date that is not in the future (today is {reading.today})")
        return found

    return Kind(read, frozenset({"date"}))


def decimal(places: int, digits: int) -> Kind:
    """A plain decimal number, not negative, with at most so many places and digits before them."""

    def read(typed: str, reading: Reading) -> Decimal:
        plain = typed.replace(",", ".") if reading.decimal_mark == "," else typed
        try:
            number = Decimal(plain)
        except InvalidOperation:
            raise CellError(typed, "a number such as 12.5, with a decimal point") from None
        form = rf"[0-9]{{1,{digits}}}(\.[0-9]{{1,{places}}})?"
        if not re.fullmatch(form, plain):
            words = f"a number such as 12.5, with at most {places} decimals"
            raise CellError(typed, f"{words}, from 0 to {10**digits - 1}")
        return number

    return Kind(read, frozenset({"number"}))


def yes_no() -> Kind:
    def read(typed: str, reading: Reading) -> bool:
        if typed.casefold() not in ("yes", "no"):
            raise CellError(typed, "yes or no")
        return typed.casefold() == "yes"

    return Kind(read, frozenset({"boolean"}))


def duration() -> Kind:
    """An ISO 8601 duration. Reads as a Duration."""
    return Kind(lambda typed, reading: parse_duration(typed))


def names() -> Kind:
    """A list of names, separated by `;`. Reads as a tuple."""
    plain = text(120)

    def read(typed: str, reading: Reading) -> tuple[str, ...]:
        parts = (part.strip() for part in typed.split(";"))
        return tuple(plain.read(part, reading) for part in parts if part)

    return Kind(read)


def person(*, not_recorded: bool = True) -> Kind:
    """Somebody's name, spaces closed up. `not recorded`, where it is legal, is kept as a name."""
    plain = text(150)

    def read(typed: str, reading: Reading) -> str:
        name = " ".join(plain.read(typed, reading).split())
        if name.casefold() == NOT_RECORDED:
            if not_recorded:
                return NOT_RECORDED
            raise CellError(typed, "a name; leave the cell empty if nobody is known")
        if name.casefold() in STANDS_FOR_NOTHING:
            raise CellError(typed, "a name, or the words “not recorded” where that is so")
        return name

    return Kind(read)


__all__ = [
    "CLEAR",
    "CLEAR_WORD",
    "NOT_RECORDED",
    "STANDS_FOR_NOTHING",
    "CellError",
    "Kind",
    "Reading",
    "UnitsError",
    "day",
    "decimal",
    "duration",
    "names",
    "person",
    "plain_text",
    "quantities",
    "quantity",
    "telling",
    "text",
    "word",
    "yes_no",
]
