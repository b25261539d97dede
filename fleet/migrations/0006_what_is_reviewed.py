"""How many overhauls the settings review looks at, and how many resets are many."""

from django.db import migrations, models

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0005_as_left_tolerance'),
    ]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.AddField(
            model_name='site',
            name='review_overhauls',
            field=models.PositiveSmallIntegerField(default=5),
        ),
        migrations.AddField(
            model_name='site',
            name='review_resets',
            field=models.PositiveSmallIntegerField(default=3),
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
