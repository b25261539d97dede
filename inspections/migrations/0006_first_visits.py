"""Since when the kept review tells of each setting, for the years it is drawn over."""

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
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
