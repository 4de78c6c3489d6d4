# Which lot of which item was in use where, from a day to a day.

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0005_left_counts")]

    operations = [
        migrations.CreateModel(
            name="LotStay",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("item", models.CharField(max_length=120)),
                ("lot", models.CharField(max_length=120)),
                ("unit_key", models.CharField(blank=True, max_length=200)),
                ("from_day", models.DateField()),
                ("to_day", models.DateField(blank=True, null=True)),
                ("noted_at", models.DateTimeField()),
                (
                    "facility",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, to="records.facility"),
                ),
            ],
        ),
    ]
