"""Prove that nobody rewrote the record."""

import json

from django.core.management.base import BaseCommand

from fleet.models import AuditHead
from fleet.reports import proof


class Command(BaseCommand):
    help = "Recompute the audit chain and compare it with every table; name each difference."

    def add_arguments(self, parser):
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args, **options):
        found = list(proof.differences())
        head = AuditHead.objects.first() or AuditHead()
        if options["format"] == "json":
            rows = [{"kind": d.kind, "where": d.where, "words": d.words} for d in found]
            summary = {"entries": head.number, "head": head.digest, "differences": len(found)}
            self.stdout.write(json.dumps({"rows": rows, "summary": summary}))
        else:
            for difference in found:
                self.stdout.write(str(difference))
            self.stdout.write(
                f"{head.number} entries, head {head.digest[:16]}, {len(found)} differences"
            )
        if found:
            raise SystemExit(1)
