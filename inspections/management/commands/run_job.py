"""Do one piece of background work, as the child process that the site starts."""

import resource

from django.core.management.base import BaseCommand

from fleet import clock, jobs, planning
from fleet.models import Job
from inspections.exchange import uploads
from inspections.kept import job as review
from inspections.papers import pack_job

KINDS = {
    uploads.KIND: uploads.load_upload,
    review.KIND: review.catch_up_job,
    planning.KIND: planning.plan_job,
    pack_job.KIND: pack_job.make_pack,
}
MEMORY_BYTES = 8 * 1024**3


class Command(BaseCommand):
    help = "Do one piece of background work. The site starts this by itself."

    def add_arguments(self, parser):
        parser.add_argument("job", type=int)

    def handle(self, *args, **options):
        _limit_memory()
        claim = jobs.claim(options["job"], at=clock.now())
        if claim is None:
            self.stderr.write(f"job {options['job']} is not waiting")
            return
        try:
            result = KINDS[claim.job.kind](claim.job, claim.beat, at=clock.now())
        except jobs.Stopped:
            claim.end(Job.State.CANCELLED, {}, at=clock.now())
        except MemoryError:
            error = {"error": "this needs more memory than it may have"}
            claim.end(Job.State.FAILED, error, at=clock.now())
        except Exception as error:
            claim.end(Job.State.FAILED, {"error": type(error).__name__}, at=clock.now())
            raise
        else:
            claim.end(Job.State.DONE, result, at=clock.now())


def _limit_memory():
    """One workbook must not take the machine with it."""
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    limit = MEMORY_BYTES if hard == resource.RLIM_INFINITY else min(MEMORY_BYTES, hard)
    resource.setrlimit(resource.RLIMIT_AS, (limit, hard))
