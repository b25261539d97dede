"""The calendar as bytes: RFC 5545, read back by a reader that did not write it."""

from datetime import UTC, date, datetime

import pytest
import vobject

from fleet.papers.calendar import calendar
from fleet.reports.calendar import CANCELLED, Entry
from tests.fleet.papers.strict_calendar import content_lines, day, events, moment, parsed, text

AT = datetime(2026, 10, 1, 8, 30, 15, 123456, tzinfo=UTC)
HOST = "https://plant.example"


def entry(**changes):
    given = {"key": "outage-7", "from_on": date(2027, 5, 1), "until_on": date(2027, 5, 22),
             "summary": "Outage Spring", "description": "Unit 1 down.", "place": "Site 1",
             "path": "/outages/7/", "changed_at": AT}  # fmt: skip
    return Entry(**given | changes)


def made(*entries, name="Relief Fleet, Site 1"):
    return calendar(name, entries, HOST)


# RFC 5545 3.1, its own example of a folded line, and what it says the line is.
FOLDED = b"DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
UNFOLDED = "DESCRIPTION:This is a long description that exists on a long line."
# RFC 5545 3.3.11, example.
ESCAPED = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
# RFC 5545 3.6.1, example: "scheduled from June 28th, 2007 to July 8th, 2007 inclusively".
FESTIVAL = (
    b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//hacksw/handcal//NONSGML v1.0//EN\r\n"
    b"BEGIN:VEVENT\r\nUID:20070423T123432Z-541111@example.com\r\nDTSTAMP:20070423T123432Z\r\n"
    b"DTSTART;VALUE=DATE:20070628\r\nDTEND;VALUE=DATE:20070709\r\n"
    b"SUMMARY:Festival International de Jazz de Montreal\r\nTRANSP:TRANSPARENT\r\nEND:VEVENT\r\n"
    b"END:VCALENDAR\r\n"
)


def test_the_second_reader_reads_what_the_standard_prints():
    assert content_lines(FOLDED) == [UNFOLDED]
    assert text(ESCAPED) == "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    [event] = events(FESTIVAL)
    assert (day(event["DTSTART"]), day(event["DTEND"])) == (date(2007, 6, 28), date(2007, 7, 9))


@pytest.mark.parametrize(
    "broken",
    [
        FESTIVAL.replace(b"\r\n", b"\n"),
        FESTIVAL.replace(b"SUMMARY:", b"SUMMARY"),
        FESTIVAL.replace(b"Festival", b"Festival " * 9),
        FESTIVAL.replace(b"Festival", b"\x07"),
        FESTIVAL.replace(b"DTSTAMP:20070423T123432Z\r\n", b""),
        FESTIVAL.replace(b"TRANSP:TRANSPARENT", b"UID:again"),
        FESTIVAL.replace(b"END:VEVENT\r\n", b""),
    ],
)
def test_the_second_reader_refuses_what_breaks_the_grammar(broken):
    with pytest.raises(AssertionError):
        events(broken)


def test_days_are_said_as_the_standard_s_own_example_says_them():
    """An outage over the festival's days has its DTSTART and DTEND, letter for letter."""
    raw = made(entry(from_on=date(2007, 6, 28), until_on=date(2007, 7, 9)))
    wanted = {line for line in content_lines(FESTIVAL) if line.startswith("DT") and "VALUE" in line}
    assert wanted == {line for line in content_lines(raw) if line.startswith(("DTSTA", "DTEND"))
                      and "VALUE" in line}  # fmt: skip


def test_everything_said_comes_back():
    [event] = events(made(entry(sequence=3, status=CANCELLED)))
    assert event["UID"] == ({}, "outage-7@plant.example")
    assert moment(event["DTSTAMP"]) == AT.replace(microsecond=0) == moment(event["LAST-MODIFIED"])
    assert event["URL"] == ({}, "https://plant.example/outages/7/")
    assert (event["SEQUENCE"][1], event["STATUS"][1]) == ("3", "CANCELLED")
    assert event["TRANSP"][1] == "TRANSPARENT"
    assert "SEQUENCE" not in events(made(entry()))[0]


HOSTILE = 'PSV;1, \\n "x"\nEND:VEVENT\r\x00\x07 é\U0001f525 ' + "ü" * 90


def test_hostile_text_stays_inside_its_line_and_comes_back():
    [event] = events(made(entry(summary=HOSTILE, place=HOSTILE), name=HOSTILE))
    wanted = HOSTILE.replace("\r", "").replace("\x00", "").replace("\x07", "")
    assert text(event["SUMMARY"][1]) == text(event["LOCATION"][1]) == wanted


def test_no_alarm_and_the_same_bytes_twice():
    raw = made(entry(), entry(key="obligation-1"))
    assert raw == made(entry(), entry(key="obligation-1")) and b"VALARM" not in raw
    assert made() and events(made()) == []


def test_the_head_names_the_calendar_and_when_to_ask_again():
    """NAME and REFRESH-INTERVAL: RFC 7986 5.1 and 5.7."""
    head = [parsed(line) for line in content_lines(made())]
    assert ("NAME", {}, "Relief Fleet\\, Site 1") in head
    assert ("REFRESH-INTERVAL", {"VALUE": "DURATION"}, "PT6H") in head
    assert ("VERSION", {}, "2.0") in head


def test_an_independent_library_reads_it_too():
    raw = made(entry(summary=HOSTILE), entry(key="obligation-1", until_on=date(2027, 5, 2)))
    read = vobject.readOne(raw.decode())
    first, second = read.vevent_list
    assert (first.dtstart.value, first.dtend.value) == (date(2027, 5, 1), date(2027, 5, 22))
    assert first.uid.value == "outage-7@plant.example" and second.uid.value.startswith("obligation")
    assert first.summary.value == text(events(raw)[0]["SUMMARY"][1])
    assert read.validate(raiseException=True)
