"""A second reader of iCalendar, strict and small, written from RFC 5545 3.1, 3.3.11 and 3.6.

It shares nothing with the library that writes ours: a line that breaks the grammar is an error.
"""

import re
from datetime import date, datetime

NAME = r"[A-Za-z0-9-]+"
VALUE = r'"[^"\x00-\x08\x0a-\x1f\x7f]*"|[^";:,\x00-\x08\x0a-\x1f\x7f]*'
LINE = re.compile(rf"({NAME})((?:;{NAME}=(?:{VALUE})(?:,(?:{VALUE}))*)*):(.*)", re.S)
CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")
ONCE = ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "STATUS", "TRANSP", "URL", "SEQUENCE")


def content_lines(raw: bytes) -> list[str]:
    """Unfolded (3.1): lines end in CRLF, none is longer than 75 octets."""
    assert raw.endswith(b"\r\n")
    physical = raw[:-2].split(b"\r\n")
    for line in physical:
        assert len(line) <= 75 and line.strip() and b"\n" not in line and b"\r" not in line, line
        line.decode()  # no sign is torn apart between two lines
    unfolded = re.sub(rb"\r\n[ \t]", b"", raw[:-2])
    return unfolded.decode().split("\r\n")


def parsed(line: str) -> tuple[str, dict[str, str], str]:
    """(name, parameters, value) of one content line (the `contentline` of 3.1)."""
    found = LINE.fullmatch(line)
    assert found and not CONTROL.search(found[3]), line
    parameters = dict(part.split("=", 1) for part in found[2].split(";") if part)
    return found[1].upper(), parameters, found[3]


def text(value: str) -> str:
    """A TEXT value read back (3.3.11): what must be escaped is, and nothing else."""
    assert re.fullmatch(r"(?:\\[\\;,nN]|[^\\;,])*", value), value
    return re.sub(r"\\(.)", lambda m: "\n" if m[1] in "nN" else m[1], value)


def events(raw: bytes) -> list[dict[str, tuple[dict[str, str], str]]]:
    """The VEVENTs of one VCALENDAR, each {name: (parameters, value)}; what 3.6 and 3.6.1 demand."""
    lines = [parsed(line) for line in content_lines(raw)]
    assert lines[0][::2] == ("BEGIN", "VCALENDAR") and lines[-1][::2] == ("END", "VCALENDAR")
    found, head, current = [], [], None
    for name, parameters, value in lines[1:-1]:
        if name in ("BEGIN", "END"):
            assert value == "VEVENT" and (current is None) == (name == "BEGIN")
            found += [current] if current is not None else []
            current = {} if name == "BEGIN" else None
        elif current is None:
            assert not found  # properties stand before components
            head.append(name)
        else:
            assert name not in ONCE or name not in current
            current[name] = (parameters, value)
    assert current is None and head.count("PRODID") == head.count("VERSION") == 1
    assert all({"UID", "DTSTAMP", "DTSTART"} <= set(event) for event in found)
    return found


def day(stated: tuple[dict[str, str], str]) -> date:
    """A DATE value (3.3.4), said to be one."""
    parameters, value = stated
    assert parameters == {"VALUE": "DATE"} and re.fullmatch(r"\d{8}", value)
    return datetime.strptime(value, "%Y%m%d").date()


def moment(stated: tuple[dict[str, str], str]) -> datetime:
    """A DATE-TIME in UTC (3.3.5, form 2), as DTSTAMP must be (3.8.7.2)."""
    parameters, value = stated
    assert parameters == {} and re.fullmatch(r"\d{8}T\d{6}Z", value)
    return datetime.strptime(value, "%Y%m%dT%H%M%S%z")
