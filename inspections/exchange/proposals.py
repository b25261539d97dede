"""What a load gives cause to propose, once all of it is in: changed duties, and first records."""

from collections.abc import Iterable
from datetime import date

from django.db.models import Max

from fleet.actions.duty_proposals import of_duties
from fleet.actions.proposals import raise_proposals
from fleet.exchange.run import Run
from fleet.models import Proposal
from inspections.actions.assess import POPPED
from inspections.actions.propose import propose_first_found
from inspections.models import Inspection

CHUNK = 1000


def propose_of_run(run: Run) -> None:
    """A first load brings years that were lived through: what a later test has answered is left
    out. A duty that the positions sheet only completes is no change."""
    changed = [duty for _, duty in run.written.get("changes", [])]
    current = [duty for _, duty in run.written.get("positions", [])]
    rows = [*of_duties(changed), *of_duties(current, filled_in=False)]
    raised = raise_proposals(_unanswered(run, rows), by=run.by, at=run.at)
    raised += propose_first_found(run.first_found, by=run.by, at=run.at)
    run.count("proposals raised", len(raised))


def _unanswered(run: Run, rows: list[Proposal]) -> list[Proposal]:
    """Without those of a site's first load that are older than the last counted test there."""
    known = Inspection.objects.exclude(recorded_at=run.at).order_by()
    sites = set(known.values_list("site", flat=True).distinct()) if rows else set()
    first = [row for row in rows if row.position.site_id not in sites]
    tested = _last_tested({row.position_id for row in first})
    answered = {id(row) for row in first if row.raised_on < tested.get(row.position_id, date.min)}
    return [row for row in rows if id(row) not in answered]


def _last_tested(positions: Iterable[int]) -> dict[int, date]:
    """The last counted pop test of what stood at each position."""
    places = sorted(positions)
    found: dict[int, date] = {}
    counted = Inspection.objects.standing().filter(
        event__is_counted=True, event__void=None, activity__in=POPPED
    )
    for start in range(0, len(places), CHUNK):
        here = counted.filter(position__in=places[start : start + CHUNK]).order_by()
        last = here.values("position").annotate(last=Max("done_on"))
        found.update(last.values_list("position", "last"))
    return found
