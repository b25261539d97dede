"""What the bench keeps: edits as typed, photos, contact checks; instructions, limits, caps."""

import django.db.models.deletion
import fleet.models.base
from django.conf import settings
from django.db import migrations, models

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0004_happenings_and_proposals'),
        ('inspections', '0002_locks'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.AddField(
            model_name='inspection',
            name='cap_equipment',
            field=fleet.models.base.QuantityField(blank=True, default=None, dimensions=('gauge_pressure',), max_length=60, null=True, verbose_name='what the protected equipment allows'),
        ),
        migrations.AddField(
            model_name='inspection',
            name='cap_owner',
            field=fleet.models.base.QuantityField(blank=True, default=None, dimensions=('gauge_pressure',), max_length=60, null=True, verbose_name="the owner's limit for a pop"),
        ),
        migrations.AddField(
            model_name='inspection',
            name='cap_rig',
            field=fleet.models.base.QuantityField(blank=True, default=None, dimensions=('gauge_pressure',), max_length=60, null=True, verbose_name="the rig's rating"),
        ),
        migrations.AddField(
            model_name='inspection',
            name='lift_factor',
            field=models.CharField(blank=True, max_length=40, verbose_name='correction of the lift assist'),
        ),
        migrations.AddField(
            model_name='settingpoint',
            name='lead',
            field=fleet.models.base.QuantityField(blank=True, default=None, dimensions=('length',), max_length=60, null=True, verbose_name='advance of its thread a turn'),
        ),
        migrations.AddField(
            model_name='settingpoint',
            name='notches_per_turn',
            field=models.PositiveSmallIntegerField(null=True),
        ),
        migrations.AddField(
            model_name='settingreading',
            name='datum_reason',
            field=models.CharField(blank=True, max_length=120, verbose_name='why it is counted from another'),
        ),
        migrations.AddField(
            model_name='settingreading',
            name='seconded_by',
            field=models.CharField(blank=True, max_length=40, verbose_name='second initials'),
        ),
        migrations.CreateModel(
            name='ContactCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('order', models.PositiveSmallIntegerField(default=1)),
                ('is_unbroken', models.BooleanField(verbose_name='unbroken ring')),
                ('note', models.CharField(blank=True, max_length=200, verbose_name='what was done about it')),
                ('inspection', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='contact_checks', to='inspections.inspection')),
            ],
            options={
                'ordering': ['order'],
                'constraints': [models.UniqueConstraint(fields=('inspection', 'order'), name='contact_checks_are_in_order')],
            },
        ),
        migrations.CreateModel(
            name='FieldEdit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(unique=True)),
                ('step', models.CharField(max_length=20)),
                ('field', models.CharField(max_length=80)),
                ('typed', models.TextField(blank=True)),
                ('base_version', models.PositiveIntegerField()),
                ('typed_at', models.DateTimeField(null=True)),
                ('received_at', models.DateTimeField()),
                ('inspection', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='edits', to='inspections.inspection')),
                ('typed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'indexes': [models.Index(fields=['inspection', 'step', 'field', 'id'], name='insp_edit_field')],
            },
        ),
        migrations.CreateModel(
            name='Instruction',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('setting', models.CharField(max_length=40)),
                ('value', fleet.models.base.QuantityField(blank=True, default=None, dimensions=('notches', 'turns', 'length'), max_length=60, null=True)),
                ('datum', models.CharField(max_length=120)),
                ('from_on', models.DateField()),
                ('until_on', models.DateField(null=True)),
                ('source', models.CharField(max_length=200, verbose_name='the instruction it follows')),
                ('reason', models.TextField()),
                ('closed_at', models.DateTimeField(null=True)),
                ('closed_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('device', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='instructions', to='fleet.device')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('signed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('device', 'setting', 'from_on'), name='one_instruction_begins_a_day'), models.CheckConstraint(condition=models.Q(('until_on', None), ('until_on__gt', models.F('from_on')), _connector='OR'), name='an_instruction_ends_after_it_begins')],
            },
        ),
        migrations.CreateModel(
            name='PartLimit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('part', models.CharField(max_length=80)),
                ('measure', models.CharField(max_length=80)),
                ('low', models.CharField(blank=True, max_length=60)),
                ('high', models.CharField(blank=True, max_length=60)),
                ('source', models.CharField(max_length=200)),
                ('model', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='part_limits', to='fleet.devicemodel')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('model', 'part', 'measure'), name='a_measure_of_a_part_has_one_limit'), models.CheckConstraint(condition=models.Q(('high', ''), ('low', ''), _negated=True), name='a_limit_says_at_least_one_end')],
            },
        ),
        migrations.CreateModel(
            name='Photo',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sha256', models.CharField(max_length=64)),
                ('kind', models.CharField(max_length=40, verbose_name='media type')),
                ('width', models.PositiveIntegerField()),
                ('height', models.PositiveIntegerField()),
                ('size', models.PositiveIntegerField(verbose_name='bytes')),
                ('step', models.CharField(blank=True, max_length=20)),
                ('caption', models.CharField(blank=True, max_length=200)),
                ('received_at', models.DateTimeField()),
                ('inspection', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='photos', to='inspections.inspection')),
                ('taken_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.UniqueConstraint(fields=('inspection', 'sha256'), name='a_photo_is_kept_once_a_record')],
            },
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
