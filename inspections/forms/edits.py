"""Edits as a tablet sends them: read one by one, so that a bad one never costs a good one."""

import json
import re
from collections.abc import Collection
from datetime import UTC, datetime
from uuid import UUID

from inspections.actions.edits import Edit, Turned

LONGEST = 10_000  # characters in one field; the longest box of a step holds less
MOST = 500  # edits at once
VERSIONS = 2**31
ROW = re.compile(r"^\d{1,3}-")  # a line of a list that may have grown since
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


class Unreadable(ValueError):
    """Not a list of edits at all."""


def read_edits(
    body: str | bytes, *, user: int, fields: dict[str, Collection[str]], at: datetime
) -> tuple[list[Edit], list[Turned]]:
    """Edits that can be kept, and those that cannot. Raises Unreadable.

    fields: {step: names of its fields}.
    """
    try:
        sent = json.loads(body)
    except (ValueError, RecursionError) as error:
        raise Unreadable("a JSON list of edits") from error
    if not isinstance(sent, list) or not all(isinstance(one, dict) for one in sent):
        raise Unreadable("a JSON list of edits")
    if len(sent) > MOST:
        raise Unreadable(f"at most {MOST} edits at once")
    edits, turned = [], []
    for one in sent:
        try:
            edits.append(_edit(one, user, fields, at))
        except ValueError as error:
            turned.append(Turned(str(one.get("uuid")), str(one.get("typed") or ""), str(error)))
    return edits, turned


def _edit(one: dict, user: int, fields: dict[str, Collection[str]], at: datetime) -> Edit:
    step, field, typed = one.get("step"), one.get("field"), one.get("typed")
    version = one.get("base_version")
    if one.get("user") != user:
        raise ValueError("it was typed by another person, who has to send it")
    if not isinstance(step, str) or step not in fields:
        raise ValueError("a step of this job")
    if not isinstance(field, str) or not is_known(field, fields[step]):
        raise ValueError("a field of that step")
    if typed is not None and (not isinstance(typed, str) or CONTROL.search(typed)):
        raise ValueError("text without control characters")
    if typed is not None and len(typed) > LONGEST:
        raise ValueError(f"at most {LONGEST} characters; there are {len(typed)}")
    if not isinstance(version, int) or not 0 <= version < VERSIONS:
        raise ValueError("the version of the record that the page showed")
    return Edit(_uuid(one.get("uuid")), step, field, typed, int(version), _moment(one, at))


def is_known(field: str, names: Collection[str]) -> bool:
    return len(field) <= 80 and (field in names or ROW.sub("0-", field) in names)


def _uuid(value) -> UUID:
    try:
        return UUID(value)
    except (ValueError, AttributeError, TypeError) as error:
        raise ValueError("a number of its own (UUID)") from error


def _moment(one: dict, at: datetime) -> datetime:
    """When a tablet says it was typed; where that cannot be read, when it came here."""
    try:
        moment = datetime.fromisoformat(one["typed_at"])
        return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).astimezone(UTC)
    except (KeyError, TypeError, ValueError, OverflowError):
        return at
