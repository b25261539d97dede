"""Plans of outages, what people settle by hand, late scope, feeds, and an ordinary week's hours."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0006_what_is_reviewed'),
    ]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.AddField(
            model_name='site',
            name='weekly_bench_hours',
            field=models.DecimalField(decimal_places=2, max_digits=8, null=True),
        ),
        migrations.CreateModel(
            name='Feed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('made_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(null=True)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='feeds', to='fleet.site')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='feeds', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Plan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('from_on', models.DateField(verbose_name='work due from')),
                ('to_on', models.DateField(verbose_name='work due up to')),
                ('proposed_at', models.DateTimeField(null=True)),
                ('entry', models.BigIntegerField(default=0)),
                ('digest', models.CharField(blank=True, max_length=64)),
                ('solver_status', models.CharField(blank=True, max_length=20)),
                ('goals', models.JSONField(default=list)),
                ('prices', models.JSONField(default=dict)),
                ('checks', models.JSONField(default=list)),
                ('seconds', models.DecimalField(decimal_places=2, max_digits=8, null=True)),
                ('accepted_at', models.DateTimeField(null=True)),
                ('note', models.TextField(blank=True)),
                ('accepted_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('follows', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='followed_by', to='fleet.plan')),
                ('job', models.OneToOneField(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='plan', to='fleet.job')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='plans', to='fleet.site')),
            ],
        ),
        migrations.CreateModel(
            name='PlannedJob',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('activity', models.CharField(max_length=20)),
                ('due_on', models.DateField(null=True)),
                ('order_on', models.DateField()),
                ('deferred_until', models.DateField(null=True)),
                ('severity', models.CharField(blank=True, max_length=20)),
                ('covered_by', models.CharField(blank=True, max_length=20)),
                ('hours', models.DecimalField(decimal_places=2, max_digits=6, null=True)),
                ('status', models.CharField(choices=[('placed', 'in an outage'), ('online', 'on stream'), ('late', 'late, inside its deferral'), ('no_opportunity', 'no opportunity')], max_length=20)),
                ('planned_on', models.DateField(null=True)),
                ('days_given_up', models.IntegerField(null=True)),
                ('days_late', models.IntegerField(default=0)),
                ('reason', models.TextField(blank=True)),
                ('device', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.device')),
                ('obligation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.obligation')),
                ('outage', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='planned', to='fleet.outage')),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='jobs', to='fleet.plan')),
                ('position', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.position')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='HandPlacing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('kind', models.CharField(choices=[('pin', 'pinned to'), ('bar', 'barred from')], max_length=5)),
                ('reason', models.TextField()),
                ('lifted_at', models.DateTimeField(null=True)),
                ('lifted_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('outage', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hand_placings', to='fleet.outage')),
                ('position', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hand_placings', to='fleet.position')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(condition=models.Q(('kind', 'pin'), ('lifted_at', None)), fields=('position',), name='a_position_is_pinned_to_one_outage'), models.UniqueConstraint(condition=models.Q(('lifted_at', None)), fields=('position', 'outage'), name='a_position_is_pinned_to_an_outage_or_barred_from_it')],
            },
        ),
        migrations.CreateModel(
            name='LateScope',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('recorded_at', models.DateTimeField()),
                ('reason', models.TextField()),
                ('answered_at', models.DateTimeField(null=True)),
                ('answer', models.CharField(blank=True, choices=[('approved', 'approved'), ('refused', 'refused')], max_length=20)),
                ('answer_words', models.TextField(blank=True)),
                ('answered_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('outage', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='late_scope', to='fleet.outage')),
                ('position', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='late_scope', to='fleet.position')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(condition=models.Q(('answer', 'refused'), _negated=True), fields=('outage', 'position'), name='late_scope_is_asked_for_once')],
            },
        ),
        migrations.AddConstraint(
            model_name='plan',
            constraint=models.CheckConstraint(condition=models.Q(('to_on__gte', models.F('from_on'))), name='a_plan_ends_after_it_begins'),
        ),
        migrations.AddConstraint(
            model_name='plan',
            constraint=models.UniqueConstraint(condition=models.Q(('accepted_at__isnull', False)), fields=('follows',), name='one_accepted_plan_follows_another'),
        ),
        migrations.AddConstraint(
            model_name='plan',
            constraint=models.UniqueConstraint(condition=models.Q(('accepted_at__isnull', False), ('follows', None)), fields=('site',), name='a_site_has_one_first_accepted_plan'),
        ),
        migrations.AddConstraint(
            model_name='plan',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('accepted_at', None), ('accepted_by', None)), models.Q(('accepted_at__isnull', False), ('accepted_by__isnull', False), ('proposed_at__isnull', False)), _connector='OR'), name='who_accepts_a_plan_is_named'),
        ),
        migrations.AddIndex(
            model_name='plannedjob',
            index=models.Index(fields=['plan', 'order_on', 'id'], name='fleet_planned_order'),
        ),
        migrations.AddIndex(
            model_name='plannedjob',
            index=models.Index(fields=['plan', 'status', 'unit', 'id'], name='fleet_planned_status'),
        ),
        migrations.AddIndex(
            model_name='plannedjob',
            index=models.Index(fields=['plan', 'outage', 'id'], name='fleet_planned_outage'),
        ),
        migrations.AddIndex(
            model_name='plannedjob',
            index=models.Index(fields=['plan', 'position'], name='fleet_planned_position'),
        ),
        migrations.AddConstraint(
            model_name='plannedjob',
            constraint=models.UniqueConstraint(fields=('plan', 'obligation'), name='a_plan_places_what_is_owed_once'),
        ),
        migrations.AddConstraint(
            model_name='plannedjob',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('outage', None), ('planned_on', None), ('status', 'no_opportunity')), models.Q(('outage', None), ('planned_on__isnull', False), ('status', 'online')), models.Q(('outage__isnull', False), ('planned_on__isnull', False), ('status__in', ('placed', 'late'))), _connector='OR'), name='what_is_placed_has_a_day_and_its_place'),
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
