"""Numbers as a sentence says them."""

from fleet.calc.durations import Duration

_NUMBERS = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_ENDINGS = {1: "st", 2: "nd", 3: "rd"}


def number_words(number: int) -> str:
    """Two to ten in words, others in figures."""
    return _NUMBERS[number - 2] if 2 <= number <= 10 else str(number)


def ordinal(number: int) -> str:
    """1st, 2nd, 3rd, 4th, 11th, 21st."""
    is_teen = number % 100 in (11, 12, 13)
    return f"{number}{'th' if is_teen else _ENDINGS.get(number % 10, 'th')}"


def span(duration: Duration) -> str:
    """ "2 years", and "year" for one: after "every", "in any" or "the"."""
    words = duration.words
    return words[2:] if words in ("1 year", "1 month", "1 week", "1 day") else words
