"""A fitting that was written down by mistake can be taken back: its days are free again."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q

from fleet.locks import lay_locks, lift_locks


class Migration(migrations.Migration):
    dependencies = [("fleet", "0002_locks")]

    operations = [
        migrations.RunPython(lift_locks, migrations.RunPython.noop),
        migrations.AlterModelManagers(
            name="installation",
            managers=[("everything", models.Manager())],
        ),
        migrations.AddField(
            model_name="installation",
            name="voided_at",
            field=models.DateTimeField(null=True),
        ),
        migrations.AddField(
            model_name="installation",
            name="voided_by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="installation",
            name="void_reason",
            field=models.TextField(blank=True, default=""),
            preserve_default=False,
        ),
        migrations.AddConstraint(
            model_name="installation",
            constraint=models.CheckConstraint(
                condition=Q(voided_at=None, voided_by=None, void_reason="")
                | Q(voided_at__isnull=False, voided_by__isnull=False) & ~Q(void_reason=""),
                name="who_takes_a_fitting_back_says_why",
            ),
        ),
        migrations.RunPython(lay_locks, migrations.RunPython.noop),
    ]
