"""Replay everything and compare it with what is stored. Run it nightly: it renews due lines too."""

import json

from django.core.management.base import BaseCommand

from fleet import audit, ledger, stamps
from fleet.models import Obligation, Position
from fleet.replays import in_whole_groups

CHUNK = 1000


class Command(BaseCommand):
    help = "Replay every position and name each stored date that replay does not give."

    def add_arguments(self, parser):
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args, **options):
        with audit.reading():
            ids = list(Position.objects.order_by("pk").values_list("pk", flat=True))
            rows = [row for part in in_whole_groups(ids, CHUNK) for row in _wrong(part)]
        count, renewed = len(ids), ledger.renew_lines()
        if options["format"] == "json":
            summary = {"positions": count, "differences": len(rows), "renewed": renewed}
            self.stdout.write(json.dumps({"rows": rows, "summary": summary}))
        else:
            for row in rows:
                self.stdout.write(f"{row['tag']} {row['activity']}: {row['words']}")
            if renewed:
                self.stdout.write(f"{renewed} positions' lines renewed: their day had come")
            self.stdout.write(f"{count} positions replayed, {len(rows)} differences")
        if rows:
            raise SystemExit(1)


def _wrong(ids):
    positions = list(Position.objects.filter(pk__in=ids))
    tags = {position.pk: position.tag for position in positions}
    owed = {
        row.pk: row
        for row in Obligation.objects.filter(position__in=tags).only(
            "pk", "position_id", "activity"
        )
    }
    for obligation, day, words in ledger.differences(positions):
        row = owed[obligation]
        yield {"tag": tags[row.position_id], "activity": row.activity, "words": f"{day}: {words}"}
    for position, words in stamps.differences(positions):
        yield {"tag": tags[position], "activity": "", "words": words}
