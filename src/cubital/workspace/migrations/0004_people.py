# People without their names: stays, disputes of sets, letters.

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0003_tidying"),
    ]

    operations = [
        migrations.CreateModel(
            name="StaffMember",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=16, unique=True)),
                ("identity", models.CharField(max_length=64, unique=True)),
                ("listed_at", models.DateTimeField()),
                ("facility", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, to="records.facility")),
            ],
        ),
        migrations.CreateModel(
            name="SetDispute",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("facility", models.CharField(max_length=200)),
                ("accession", models.CharField(max_length=200)),
                ("noted_at", models.DateTimeField()),
                ("taken_back_at", models.DateTimeField(blank=True, null=True)),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="disputes", to="records.staffmember"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="FeedbackLetter",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(choices=[("feedback", "Feedback"), ("correction", "Correction")], max_length=16),
                ),
                ("made_at", models.DateTimeField()),
                ("from_month", models.CharField(max_length=7)),
                ("to_month", models.CharField(max_length=7)),
                ("data", models.CharField(max_length=200)),
                ("draws", models.PositiveIntegerField()),
                ("contaminated", models.PositiveIntegerField()),
                ("sets", models.JSONField(default=list)),
                ("changes", models.JSONField(default=list)),
                ("expires_on", models.DateField()),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="letters", to="records.staffmember"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="StaffStay",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("role", models.CharField(blank=True, max_length=120)),
                ("unit_key", models.CharField(blank=True, max_length=200)),
                ("from_day", models.DateField(blank=True, null=True)),
                ("to_day", models.DateField(blank=True, null=True)),
                ("badge", models.CharField(blank=True, max_length=64)),
                ("writings", models.JSONField(default=list)),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="stays", to="records.staffmember"
                    ),
                ),
            ],
        ),
    ]
