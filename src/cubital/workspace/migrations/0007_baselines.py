# Baselines that somebody locked, per place.

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0006_lots")]

    operations = [
        migrations.CreateModel(
            name="Baseline",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("unit_key", models.CharField(blank=True, max_length=200)),
                ("first", models.CharField(max_length=7)),
                ("last", models.CharField(max_length=7)),
                ("locked_by", models.CharField(max_length=120)),
                ("role", models.CharField(max_length=120)),
                ("locked_on", models.DateField()),
                ("why", models.CharField(max_length=400)),
                ("charter", models.PositiveIntegerField()),
                ("batch", models.PositiveIntegerField()),
                ("noted_at", models.DateTimeField()),
                (
                    "facility",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to="records.facility"
                    ),
                ),
            ],
        ),
    ]
