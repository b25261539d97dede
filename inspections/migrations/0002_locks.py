"""Lay the locks of what a model declares: what is kept is never rewritten."""

from django.db import migrations

from fleet.locks import lay_locks


class Migration(migrations.Migration):
    dependencies = [("inspections", "0001_initial"), ("fleet", "0002_locks")]

    operations = [migrations.RunPython(lay_locks, migrations.RunPython.noop)]
