"""Lay the locks of what a model declares: what is kept is never rewritten."""

from django.db import migrations

from fleet.locks import lay_locks


class Migration(migrations.Migration):
    dependencies = [("fleet", "0001_initial")]

    operations = [migrations.RunPython(lay_locks, migrations.RunPython.noop)]
