"""Work that outlives a request: claimed once, beating while it runs, cancelled when asked.

The row says what was asked and how it ended. While the work runs it often holds the only write
lock of the database, so its heartbeat, its progress and a wish to cancel stand in small files
beside the uploads instead, where both sides reach them at any moment.
"""

import json
import os
import subprocess
import sys
import time
import uuid
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings

from fleet.models import Job, Upload, User

STALE_SECONDS = 90  # no beat for so long: the process is gone
BEAT_SECONDS = 1


class Stopped(Exception):
    """Somebody asked to cancel, or the job was claimed again: undo and leave."""


@dataclass(frozen=True)
class Beat:
    """The last sign of life of a running job."""

    token: str = ""
    doing: str = ""
    done: int = 0
    total: int = 0


@dataclass
class Claim:
    """A job this process has taken; nobody else runs it."""

    job: Job
    token: str
    _last: float = field(default=0.0)
    _doing: str = field(default="")

    def beat(self, doing: str, done: int, total: int) -> None:
        """Say where the work stands: each new task, then once a second. Raises Stopped."""
        now = time.monotonic()
        if doing == self._doing and now - self._last < BEAT_SECONDS and done < total:
            return
        self._last, self._doing = now, doing
        if _file(self.job.pk, "cancel").exists() or read_beat(self.job.pk).token != self.token:
            raise Stopped
        _write_beat(self.job.pk, Beat(self.token, doing, done, total))

    def end(self, state: str, result: dict[str, Any], *, at: datetime) -> bool:
        """Say how it ended; False if the job was taken away meanwhile."""
        rows = Job.objects.filter(pk=self.job.pk, token=self.token, state=Job.State.RUNNING)
        ended = rows.update(state=state, result=result, ended_at=at, beat_at=at) == 1
        for kind in ("beat", "cancel"):
            _file(self.job.pk, kind).unlink(missing_ok=True)
        return ended


def ask(
    kind: str, arguments: dict[str, Any], *, by: User, at: datetime, upload: Upload | None = None
) -> Job:
    """Ask for work and start it in a process of its own."""
    job = Job.objects.create(
        kind=kind, arguments=arguments, upload=upload, asked_by=by, asked_at=at
    )
    start(job)
    return job


def start(job: Job) -> None:
    """Start the child process. It inherits the environment, and so the database and the clock."""
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "run_job", str(job.pk)]
    subprocess.Popen(
        command, stdin=subprocess.DEVNULL, start_new_session=True, env=os.environ.copy()
    )


def claim(pk: int, *, at: datetime) -> Claim | None:
    """Take a waiting job, by one compare-and-set; None when it is not there to be taken."""
    token = str(uuid.uuid4())
    taken = Job.objects.filter(pk=pk, state=Job.State.WAITING).update(
        state=Job.State.RUNNING, token=token, beat_at=at
    )
    if not taken:
        return None
    _write_beat(pk, Beat(token, "starting"))
    return Claim(Job.objects.select_related("upload", "asked_by").get(pk=pk), token)


def cancel(job: Job, *, at: datetime) -> None:
    """Ask a running job to stop at its next beat; one that waits is cancelled at once."""
    Job.objects.filter(pk=job.pk, state=Job.State.WAITING).update(
        state=Job.State.CANCELLED, ended_at=at, is_cancel_asked=True
    )
    path = _file(job.pk, "cancel")
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch()


def read_beat(pk: int) -> Beat:
    try:
        return Beat(**json.loads(_file(pk, "beat").read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return Beat()


def is_stale(job: Job) -> bool:
    """Running by its row, but without a sign of life."""
    if job.state != Job.State.RUNNING:
        return False
    try:
        age = time.time() - _file(job.pk, "beat").stat().st_mtime
    except OSError:
        return False  # it is just ending: its row will say so
    return age > STALE_SECONDS


def again(job: Job, *, at: datetime) -> bool:
    """Have a job whose process died done again, by one compare-and-set; its work was undone by
    the database, so that it may be begun anew. False where another has taken it meanwhile."""
    rows = Job.objects.filter(pk=job.pk, token=job.token, state=job.state)
    if not rows.update(state=Job.State.WAITING, beat_at=at):
        return False
    _file(job.pk, "beat").unlink(missing_ok=True)
    start(job)
    return True


def is_forgotten(job: Job, *, at: datetime) -> bool:
    """Waiting so long that the process it was started in cannot have come up."""
    waiting_since = job.beat_at or job.asked_at
    is_waiting = job.state == Job.State.WAITING
    return is_waiting and (at - waiting_since).total_seconds() > STALE_SECONDS


def give_up(job: Job, *, at: datetime) -> None:
    """A job whose process died has failed; its transaction was undone by the database."""
    rows = Job.objects.filter(pk=job.pk, token=job.token, state=Job.State.RUNNING)
    rows.update(state=Job.State.FAILED, ended_at=at, result={"error": "the process stopped"})
    _file(job.pk, "beat").unlink(missing_ok=True)


def _write_beat(pk: int, beat: Beat) -> None:
    path = _file(pk, "beat")
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_suffix(f".{beat.token}")
    fresh.write_text(json.dumps(beat.__dict__), encoding="utf-8")
    fresh.replace(path)


def _file(pk: int, kind: str) -> Path:
    return Path(settings.MEDIA_ROOT) / "jobs" / f"{pk}.{kind}"
