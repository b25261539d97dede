"""What was done at each position of the further groups, and when.

A line is `tag | what | days`; `=460` after a day is what the first pop was, in 0.01 % off.
what: overhaul (own valve out that day, in the shop the next, back the day after), in_place,
assisted, lever, look, disc (a new one fitted), review. `every N from DAY` goes on to the last day.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from inspections.demo.dice import Dice
from inspections.demo.plant import AS_OF

_DIARY = """
SV-5801|in_place|2022-07-12 2023-06-20 2024-08-06 2025-07-15 2026-06-23
SV-5802|in_place|2022-07-13 2023-06-21 2024-08-07 2025-08-21
SV-5801|lever|every 86 from 2021-12-01
SV-5802|lever|every 86 from 2021-12-02

PSV-5901|overhaul|2021-10-12 2024-06-18
PSV-5902|overhaul|2020-11-10 2023-09-19
PSV-5903|overhaul|2021-02-02 2023-08-29
PSV-5904|overhaul|2020-06-16 2023-04-11
PSV-5905|overhaul|2022-05-10

PSV-5001|in_place|2021-10-19 2023-02-14 2024-11-19
PSV-5002|in_place|2021-11-09 2023-03-07 2024-12-03 2026-03-10

PSV-4501|overhaul|2022-03-08 2024-09-10
PSV-4502|overhaul|2021-11-16 2024-09-24 2026-04-14

PSE-2801|disc|2025-06-19
PSV-2801|look|2025-06-19
PSV-2801|overhaul|2024-05-14
PSV-2802|overhaul|2025-02-11
PSE-2802|disc|2025-02-12

PSV-6401|in_place|2021-04-13 2022-05-10 2023-05-16 2024-06-11 2025-07-08 2026-08-18
PLT-6401|in_place|2021-04-13 2022-05-10 2023-05-16 2024-06-11 2025-07-08 2026-08-18
PSV-6401|review|2021-03-16 2022-04-12 2023-04-18 2024-03-19 2025-04-15 2026-04-21

PSV-8501|overhaul|2023-08-08
PSV-8502|overhaul|2025-08-12=600

PSV-9101|overhaul|2016-05-10 2018-05-08 2020-05-11 2022-05-09 2024-05-07 2025-05-06 2026-04-28
PSV-9102|overhaul|2023-08-22 2025-08-19
PSV-9104|overhaul|2022-06-07 2024-06-04

SV-9511|in_place|2023-05-09 2024-04-30 2025-04-22 2026-05-02
SV-9521|in_place|2023-05-09 2024-04-30 2025-04-22 2026-05-02
SV-9512|in_place|2023-09-12 2024-09-10 2025-09-06
SV-9522|in_place|2023-09-12 2024-09-10 2025-09-06

PSV-9601|overhaul|2020-02-11 2021-02-16 2022-02-15 2023-02-14 2024-02-20 2025-02-18 2026-02-17

BSV-1011|overhaul|2019-05-13 2021-11-09 2024-05-07
BSV-1021|overhaul|2019-05-14 2021-11-10 2024-05-08
BSV-1031|overhaul|2019-05-15 2021-11-11 2024-05-09
BSV-1012|overhaul|2019-05-16 2021-11-12 2023-06-20 2025-04-08
BSV-1022|overhaul|2019-05-17 2021-11-15 2023-06-21 2025-04-09
BSV-1032|overhaul|2019-05-20 2021-11-16 2023-06-22 2025-04-10
BSV-1011|lever|every 168 from 2017-02-06
BSV-1021|lever|every 168 from 2017-02-06
BSV-1031|lever|every 168 from 2017-02-06
BSV-1012|lever|every 168 from 2017-02-07
BSV-1022|lever|every 168 from 2017-02-07
BSV-1032|lever|every 168 from 2017-02-07

MSV-101|assisted|2019-04-09 2023-10-10 2026-10-22
MSV-102|assisted|2019-04-09 2023-10-11
MSV-103|assisted|2019-04-10 2023-10-12
MSV-104|assisted|2019-04-11 2023-10-13
MSV-105|assisted|2019-04-12 2023-10-14
MSV-106|assisted|2020-10-06 2025-04-08
MSV-107|assisted|2020-10-07 2025-04-09
MSV-108|assisted|2020-10-08 2025-04-10
MSV-109|assisted|2020-10-09 2025-04-11
MSV-110|assisted|2020-10-10 2025-04-12
MSV-111|assisted|2022-04-12 2026-10-08
MSV-112|assisted|2022-04-12 2026-10-09
MSV-113|assisted|2022-04-13 2026-10-10
MSV-114|assisted|2022-04-14 2026-10-12
MSV-115|assisted|2022-04-15 2026-10-13
MSV-116|assisted|2022-04-16 2026-10-16=460

RV-201|lever|2026-01-12 2026-04-13 2026-07-20
RV-202|lever|2026-01-13 2026-04-14 2026-07-14 2026-10-09
"""


@dataclass(frozen=True)
class Entry:
    """`found`: what the first pop was, in 0.01 %; None leaves it to the dice."""

    on: date
    tag: str
    what: str
    found: int | None = None


def _line(line: str) -> Iterator[Entry]:
    tag, what, days = line.split("|")
    if days.startswith("every "):
        _, step, _, first = days.split()
        yield from _every(tag, what, int(step), date.fromisoformat(first))
        return
    for typed in days.split():
        day, _, found = typed.partition("=")
        yield Entry(date.fromisoformat(day), tag, what, int(found) if found else None)


def _every(tag: str, what: str, step: int, on: date) -> Iterator[Entry]:
    while on <= AS_OF:
        yield Entry(on, tag, what)
        on += timedelta(step + Dice("diary", tag, on).whole(-4, 3))


def _entries() -> Iterator[Entry]:
    for line in _DIARY.splitlines():
        if line:
            yield from _line(line)


ENTRIES = tuple(sorted(_entries(), key=lambda entry: (entry.on, entry.tag, entry.what)))
