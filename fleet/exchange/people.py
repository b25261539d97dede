"""People a sheet names become accounts, inactive until somebody gives them a sign-in.

Who is `not recorded` is kept under that name, so that every list says it as the sheet did.
"""

from collections.abc import Iterable

from fleet.actions.people import people_named
from fleet.exchange.run import Run
from fleet.exchange.sheets import Row
from fleet.models import User


def people_of(run: Run, rows: Iterable[Row], *columns: str) -> dict[str, User]:
    """Accounts by casefolded name for everybody these columns name."""
    known = run.lookups.people
    names = {row[column] for row in rows for column in columns} - {None}
    new = sorted(name for name in names if name.casefold() not in known)
    if new:
        known.update(people_named(new, by=run.by, at=run.at))
        run.count("people named", len({name.casefold() for name in new}))
    return known
