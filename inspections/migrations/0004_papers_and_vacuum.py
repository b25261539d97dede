"""Work sent out and its papers, a vent's vacuum side, the as-left tolerance of the shop."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0005_as_left_tolerance'),
        ('inspections', '0003_bench'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.AddField(
            model_name='inspection',
            name='left_reason',
            field=models.TextField(blank=True, verbose_name="why it was left outside the shop's tolerance"),
        ),
        migrations.AddField(
            model_name='inspection',
            name='received_on',
            field=models.DateField(null=True, verbose_name='back from the outside shop'),
        ),
        migrations.AddField(
            model_name='inspection',
            name='sent_on',
            field=models.DateField(null=True, verbose_name='sent to the outside shop'),
        ),
        migrations.AddField(
            model_name='inspection',
            name='signed_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='poptest',
            name='shop_tolerance',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.toleranceband'),
        ),
        migrations.AddField(
            model_name='poptest',
            name='shop_verdict',
            field=models.CharField(blank=True, max_length=10),
        ),
        migrations.AlterField(
            model_name='poptest',
            name='stage',
            field=models.CharField(choices=[('as_found', 'as found'), ('as_left', 'as left'), ('vac_found', 'vacuum as found'), ('vac_left', 'vacuum as left')], max_length=10),
        ),
        migrations.CreateModel(
            name='Document',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sha256', models.CharField(max_length=64)),
                ('kind', models.CharField(max_length=40, verbose_name='media type')),
                ('size', models.PositiveIntegerField(verbose_name='bytes')),
                ('name', models.CharField(max_length=200, verbose_name='file name as it came')),
                ('received_at', models.DateTimeField()),
                ('added_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('inspection', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='documents', to='inspections.inspection')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.UniqueConstraint(fields=('inspection', 'sha256'), name='a_document_is_kept_once_a_record')],
            },
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
