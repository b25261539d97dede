"""The review is kept of past days too; what was kept so far is that of today."""

import datetime
import django.db.models.deletion
import django.db.models.functions.comparison
from django.core.management.color import no_style
from django.db import migrations, models


def number_after_those_given(apps, schema_editor):
    """Today's row was written with its key given, of which a sequence knows nothing."""
    tables = [apps.get_model('inspections', 'Screening')]
    for sql in schema_editor.connection.ops.sequence_reset_sql(no_style(), tables):
        schema_editor.execute(sql)


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0007_outage_plans'),
        ('inspections', '0006_first_visits'),
    ]

    operations = [
        migrations.RunPython(number_after_those_given, migrations.RunPython.noop),
        migrations.RemoveConstraint(
            model_name='settingstate',
            name='a_setting_of_a_device_is_listed_once',
        ),
        migrations.RemoveIndex(
            model_name='settingstate',
            name='insp_state_worst',
        ),
        migrations.RemoveIndex(
            model_name='settingstate',
            name='insp_state_tag',
        ),
        migrations.RemoveIndex(
            model_name='settingstate',
            name='insp_state_home_worst',
        ),
        migrations.AddField(
            model_name='screening',
            name='day',
            field=models.DateField(null=True, verbose_name='the past day it is of'),
        ),
        migrations.AddField(
            model_name='settingstate',
            name='screening',
            field=models.ForeignKey(db_index=False, default=1, on_delete=django.db.models.deletion.CASCADE, related_name='states', to='inspections.screening'),
            preserve_default=False,
        ),
        migrations.AddIndex(
            model_name='settingstate',
            index=models.Index(fields=['screening', '-is_flagged', '-device_weight', '-device_far', 'device', '-weight', 'id'], name='insp_state_worst'),
        ),
        migrations.AddIndex(
            model_name='settingstate',
            index=models.Index(fields=['screening', 'home', '-is_flagged', '-device_weight', '-device_far', 'device', '-weight', 'id'], name='insp_state_home_worst'),
        ),
        migrations.AddIndex(
            model_name='settingstate',
            index=models.Index(fields=['screening', 'tag', 'id'], name='insp_state_tag'),
        ),
        migrations.AddConstraint(
            model_name='screening',
            constraint=models.UniqueConstraint(django.db.models.functions.comparison.Coalesce('day', models.Value(datetime.date(9999, 12, 31))), name='a_day_is_screened_once'),
        ),
        migrations.AddConstraint(
            model_name='settingstate',
            constraint=models.UniqueConstraint(fields=('screening', 'device', 'setting'), name='a_setting_of_a_device_is_listed_once'),
        ),
    ]
