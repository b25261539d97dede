"""What was written down before what has to be read first: kept, and asked about for good.

Nothing that is typed is lost, so a finding saved before the settings as found is stored; but no
one can tell afterwards whether these were read before the valve was stripped. So a question opens
then and there, and stays on the record. A correction and a certificate from elsewhere are entered
in any order.
"""

from collections.abc import Iterable
from datetime import datetime

from fleet import clock
from fleet.faults import Fault
from fleet.models import User
from inspections.actions.ask import ask
from inspections.actions.gates import STRIPS, before_stripping
from inspections.actions.outside import is_outside
from inspections.actions.records import records_of
from inspections.actions.targets import targets_of
from inspections.actions.verify import POPPED, lacks_as_found
from inspections.models import Inspection, Question

CODE = "written_out_of_order"
FIRST_POP = Fault("first_pop", "", "the first pop, or why the test was waived")


def ask_about_order(
    inspection: Inspection, late: Iterable[str], *, by: User, at: datetime
) -> list[Question]:
    """late: what was just saved that comes after the reading of how the valve came, in words.
    Returns the questions opened now; each is opened once."""
    what, day = ", ".join(late), clock.day_of(at)
    if not what or inspection.activity not in POPPED or inspection.corrects_id:
        return []
    if is_outside(inspection):
        return []
    questions = [
        Question(
            site_id=inspection.site_id,
            inspection=inspection,
            device_id=inspection.device_id,
            position_id=inspection.position_id,
            code=CODE,
            field=fault.field,
            text=f"{what} were saved on {day}, and nothing yet of {_words(fault)}: was that read"
            " before the valve was touched?",
        )
        for fault in _unread(inspection)
    ]
    return ask(questions, by=by, at=at)


def _unread(inspection: Inspection) -> list[Fault]:
    [record] = records_of([inspection])
    if inspection.activity in STRIPS:
        return before_stripping(record, targets_of(inspection))
    return [FIRST_POP] if lacks_as_found(record) else []


def _words(fault: Fault) -> str:
    return fault.field.replace("_", " ")
