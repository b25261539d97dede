"""The settings review as it is kept, and its acknowledgements."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0006_what_is_reviewed'),
        ('inspections', '0004_papers_and_vacuum'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.CreateModel(
            name='Screening',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('entry', models.BigIntegerField(verbose_name='the last entry of the chain it has taken in')),
                ('digest', models.CharField(max_length=64)),
                ('made_at', models.DateTimeField()),
                ('budget', models.DecimalField(decimal_places=3, max_digits=4, verbose_name='share of false flags borne')),
                ('judged', models.PositiveIntegerField(default=0)),
                ('too_few', models.PositiveIntegerField(default=0, verbose_name='with not enough readings')),
                ('expected_false', models.FloatField(default=0)),
                ('priors', models.JSONField(default=dict)),
                ('rates', models.JSONField(default=dict)),
            ],
        ),
        migrations.CreateModel(
            name='Acknowledgement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('setting', models.CharField(max_length=40)),
                ('code', models.CharField(max_length=30)),
                ('fingerprint', models.CharField(max_length=64)),
                ('note', models.TextField()),
                ('device', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='acknowledgements', to='fleet.device')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='SettingState',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('setting', models.CharField(max_length=40)),
                ('service', models.CharField(blank=True, max_length=120, verbose_name='the fluid it stands in')),
                ('tag', models.CharField(blank=True, max_length=80)),
                ('visits', models.PositiveIntegerField()),
                ('is_flagged', models.BooleanField(default=False)),
                ('weight', models.PositiveIntegerField(default=0)),
                ('device_weight', models.PositiveIntegerField(default=0)),
                ('device_far', models.DecimalField(decimal_places=4, default=0, max_digits=12)),
                ('family', models.CharField(blank=True, max_length=60, verbose_name='what its variance is pooled with')),
                ('changes', models.PositiveIntegerField(default=0, verbose_name='service movements that can be judged')),
                ('per_year', models.FloatField(null=True)),
                ('variance', models.FloatField(null=True)),
                ('spread', models.FloatField(null=True)),
                ('resets', models.PositiveIntegerField(default=0)),
                ('reset_of', models.PositiveIntegerField(default=0)),
                ('device', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='setting_states', to='fleet.device')),
                ('model', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='fleet.devicemodel')),
                ('site', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='fleet.site')),
                ('unit', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='FlagState',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=30)),
                ('reasons', models.JSONField()),
                ('is_statistic', models.BooleanField(default=False)),
                ('fingerprint', models.CharField(max_length=64)),
                ('acknowledgement', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='inspections.acknowledgement')),
                ('state', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='flags', to='inspections.settingstate')),
            ],
        ),
        migrations.AddConstraint(
            model_name='acknowledgement',
            constraint=models.UniqueConstraint(fields=('device', 'setting', 'code', 'fingerprint'), name='a_flag_is_acknowledged_once'),
        ),
        migrations.AddIndex(
            model_name='settingstate',
            index=models.Index(fields=['-is_flagged', '-device_weight', '-device_far', 'device', '-weight', 'id'], name='insp_state_worst'),
        ),
        migrations.AddIndex(
            model_name='settingstate',
            index=models.Index(fields=['tag', 'id'], name='insp_state_tag'),
        ),
        migrations.AddConstraint(
            model_name='settingstate',
            constraint=models.UniqueConstraint(fields=('device', 'setting'), name='a_setting_of_a_device_is_listed_once'),
        ),
        migrations.AddIndex(
            model_name='flagstate',
            index=models.Index(fields=['code', 'state'], name='insp_flag_code'),
        ),
        migrations.AddConstraint(
            model_name='flagstate',
            constraint=models.UniqueConstraint(fields=('state', 'code'), name='a_setting_shows_a_flag_once'),
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
