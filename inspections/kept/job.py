"""The kept review brought up to date in the background, when much is behind."""

from datetime import date, datetime
from typing import Any

from fleet.models import Job
from inspections.kept.catching_up import Progress, catch_up

KIND = "settings_review"


def catch_up_job(job: Job, progress: Progress, *, at: datetime) -> dict[str, Any]:
    """Make again what was written about, or a past day. Returns the job's result."""
    typed = job.arguments.get("day", "")
    day = date.fromisoformat(typed) if typed else None
    stands = catch_up(at=at, progress=progress, day=day)
    return {"entry": stands.screening.entry}
