"""Cells that hold JSON: the parameters of a rule, the bands of a tolerance.

Spacing and the order of names say nothing: what goes out again is canonical (names sorted, no
spaces), and two texts of one value are the same value.
"""

import json
import unicodedata
from typing import Any

from fleet.audit import canonical
from fleet.exchange.cells import HIDDEN, CellError, Kind, Reading

ESCAPED = tuple(f"\\u{number:04x}" for number in range(0x20))  # how JSON hides such a character


def json_object() -> Kind:
    """A JSON object, such as {"gap": "P5Y"}. Reads as a dict."""
    return _kind(dict, 'an object in braces, such as {"gap": "P5Y"}')


def json_list() -> Kind:
    """A JSON list. Reads as a list."""
    return _kind(list, 'a list in brackets, such as [{"low": "-3 %", "high": "3 %"}]')


def _kind(wanted: type, expected: str) -> Kind:
    def read(typed: str, reading: Reading) -> Any:
        words = f"JSON: {expected}"
        try:
            value = json.loads(
                unicodedata.normalize("NFC", typed),
                object_pairs_hook=_once,
                parse_float=_no_decimals,
                parse_constant=_no_decimals,
            )
            text = canonical(value)
            text.encode()
        except (ValueError, RecursionError) as error:
            why = f" ({error})" if isinstance(error, CellError) else ""
            raise CellError(typed, f"{words}{why}") from None
        if not isinstance(value, wanted):
            raise CellError(typed, words)
        if HIDDEN.search(text) or any(hidden in text for hidden in ESCAPED):
            raise CellError(ascii(typed[:40]), "text without hidden characters")
        return value

    return Kind(read, is_cached=False)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise CellError(", ".join(name for name, _ in pairs), "each name once")
    return found


def _no_decimals(typed: str) -> Any:
    raise CellError(typed, 'whole numbers; a fraction stands in quotes, such as "0.20"')
