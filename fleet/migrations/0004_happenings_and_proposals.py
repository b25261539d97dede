"""Triggers, counters, days out of service, arrangements, proposals, and leave asked for."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0003_voided_installations'),
    ]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.AddField(
            model_name='serviceevent',
            name='as_found_verdict',
            field=models.CharField(blank=True, max_length=12),
        ),
        migrations.AddField(
            model_name='serviceevent',
            name='is_counted',
            field=models.BooleanField(default=True),
        ),
        migrations.AlterField(
            model_name='dueline',
            name='state',
            field=models.CharField(choices=[('dated', 'dated'), ('no_device', 'no device fitted'), ('no_record', 'no record'), ('interval_not_set', 'interval not set'), ('not_required', 'not required'), ('waiting', 'nothing called for'), ('no_obligation', 'nothing listed')], max_length=20),
        ),
        migrations.AlterField(
            model_name='obligationspan',
            name='state',
            field=models.CharField(choices=[('dated', 'dated'), ('no_device', 'no device fitted'), ('no_record', 'no record'), ('interval_not_set', 'interval not set'), ('not_required', 'not required'), ('waiting', 'nothing called for'), ('no_obligation', 'nothing listed')], max_length=20),
        ),
        migrations.CreateModel(
            name='Arrangement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80)),
                ('kind', models.CharField(choices=[('combination', 'rupture disc and valve'), ('changeover', 'duty and standby on a changeover'), ('pilot', 'pilot and main valve'), ('multiple', 'several devices sharing one duty')], max_length=20)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='arrangements', to='fleet.site')),
            ],
        ),
        migrations.CreateModel(
            name='ArrangementMember',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('valve', 'valve'), ('upstream_disc', 'upstream disc'), ('main', 'main valve'), ('pilot', 'pilot'), ('duty', 'duty'), ('standby', 'standby'), ('additional', 'additional device'), ('fire', 'fire case')], max_length=20)),
                ('arrangement', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='members', to='fleet.arrangement')),
                ('position', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='arranged', to='fleet.position')),
            ],
        ),
        migrations.CreateModel(
            name='CounterReading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('counter', models.CharField(max_length=40)),
                ('read_on', models.DateField()),
                ('value', models.DecimalField(decimal_places=4, max_digits=14)),
                ('position', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='fleet.position')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='DeferralRequest',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('due_on', models.DateField(verbose_name='the due date it would pass')),
                ('until_on', models.DateField()),
                ('policy', models.CharField(choices=[('simple', 'simple'), ('assessed', 'assessed'), ('single_postponement', 'single postponement'), ('test_period', 'test period')], max_length=20)),
                ('reason', models.TextField()),
                ('interim_measure', models.TextField(blank=True)),
                ('document', models.CharField(blank=True, max_length=200)),
                ('notified_on', models.DateField(null=True)),
                ('requested_on', models.DateField()),
                ('answered_at', models.DateTimeField(null=True)),
                ('answer', models.CharField(blank=True, choices=[('approved', 'approved'), ('refused', 'refused')], max_length=20)),
                ('answer_words', models.TextField(blank=True)),
                ('answered_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('deferral', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='request', to='fleet.deferral')),
                ('obligation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='deferral_requests', to='fleet.obligation')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='OutOfService',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('from_on', models.DateField()),
                ('to_on', models.DateField(null=True)),
                ('how', models.TextField(blank=True, verbose_name='how it is isolated or laid up')),
                ('closed_at', models.DateTimeField(null=True)),
                ('closed_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('position', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='idle_spans', to='fleet.position')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('told_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Proposal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('kind', models.CharField(choices=[('as_received_failure', 'as-received failure'), ('waived_test', 'waived test'), ('repeated_failure', 'repeated failure'), ('new_set_pressure', 'new set pressure'), ('new_service', 'new service')], max_length=20)),
                ('reason', models.TextField()),
                ('source', models.CharField(max_length=120)),
                ('raised_on', models.DateField()),
                ('answered_on', models.DateField(null=True)),
                ('answered_at', models.DateTimeField(null=True)),
                ('answer', models.CharField(blank=True, choices=[('accepted', 'accepted'), ('declined', 'declined'), ('withdrawn', 'withdrawn')], max_length=20)),
                ('answer_words', models.TextField(blank=True)),
                ('answered_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('decision', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='proposals', to='fleet.intervaldecision')),
                ('position', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='proposals', to='fleet.position')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Trigger',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('kind', models.CharField(choices=[('release', 'release'), ('alteration', 'alteration'), ('major_repair', 'major repair'), ('mawp_increase', 'increase of the allowed pressure'), ('process_change', 'change of process'), ('long_shutdown', 'long shutdown'), ('irregularity', 'irregularity')], max_length=20)),
                ('happened_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('position', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='triggers', to='fleet.position')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.AddConstraint(
            model_name='arrangement',
            constraint=models.UniqueConstraint(fields=('site', 'name'), name='an_arrangement_has_one_name'),
        ),
        migrations.AddConstraint(
            model_name='arrangementmember',
            constraint=models.UniqueConstraint(fields=('arrangement', 'position'), name='a_position_has_one_role_in_it'),
        ),
        migrations.AddConstraint(
            model_name='counterreading',
            constraint=models.UniqueConstraint(fields=('position', 'counter', 'read_on'), name='a_counter_is_read_once_a_day'),
        ),
        migrations.AddConstraint(
            model_name='deferralrequest',
            constraint=models.CheckConstraint(condition=models.Q(('until_on__gt', models.F('due_on'))), name='leave_is_asked_past_the_due_date'),
        ),
        migrations.AddConstraint(
            model_name='outofservice',
            constraint=models.UniqueConstraint(fields=('position', 'from_on'), name='a_position_goes_out_once_a_day'),
        ),
        migrations.AddConstraint(
            model_name='outofservice',
            constraint=models.CheckConstraint(condition=models.Q(('to_on', None), ('to_on__gt', models.F('from_on')), _connector='OR'), name='a_position_returns_after_it_went_out'),
        ),
        migrations.AddIndex(
            model_name='proposal',
            index=models.Index(fields=['position', 'raised_on'], name='fleet_proposal_position'),
        ),
        migrations.AddConstraint(
            model_name='proposal',
            constraint=models.UniqueConstraint(fields=('position', 'kind', 'source'), name='a_cause_is_proposed_once'),
        ),
        migrations.AddConstraint(
            model_name='trigger',
            constraint=models.UniqueConstraint(fields=('position', 'kind', 'happened_on'), name='a_trigger_is_told_once_a_day'),
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
