"""What a site's own shop leaves valves within."""

import django.db.models.deletion
from django.db import migrations, models

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0004_happenings_and_proposals'),
    ]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.AddField(
            model_name='site',
            name='as_left_tolerance',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.toleranceband'),
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
