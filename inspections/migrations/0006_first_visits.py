"""Since when the kept review tells of each setting; records without a day are found at once."""

import django.db.models.deletion
from django.db import migrations, models

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):

    dependencies = [
        ('inspections', '0005_kept_review'),
    ]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.AddField(
            model_name='screening',
            name='first_on',
            field=models.DateField(null=True, verbose_name='the first visit any state tells of'),
        ),
        migrations.AddField(
            model_name='settingstate',
            name='first_on',
            field=models.DateField(null=True, verbose_name='the first visit it tells of'),
        ),
        migrations.AddField(
            model_name='settingstate',
            name='at_floor',
            field=models.BooleanField(default=False, verbose_name='known only to be no more than its variance'),
        ),
        migrations.AddField(
            model_name='settingstate',
            name='moved',
            field=models.JSONField(default=list, verbose_name='day, sign and datum of last movements'),
        ),
        migrations.AddField(
            model_name='settingstate',
            name='home',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='fleet.site'),
        ),
        migrations.AddField(
            model_name='screening',
            name='screened',
            field=models.BigIntegerField(default=0, verbose_name='the last entry its statistics have taken in'),
        ),
        migrations.AddIndex(
            model_name='settingstate',
            index=models.Index(fields=['home', '-is_flagged', '-device_weight', '-device_far', 'device', '-weight', 'id'], name='insp_state_home_worst'),
        ),
        migrations.AddIndex(
            model_name='inspection',
            index=models.Index(condition=models.Q(('done_on', None)), fields=['done_on', 'device'], name='insp_undated'),
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
