"""Since when the kept review tells of each setting; records without a day are found at once."""

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
        migrations.AddIndex(
            model_name='inspection',
            index=models.Index(condition=models.Q(('done_on', None)), fields=['device'], name='insp_undated'),
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
