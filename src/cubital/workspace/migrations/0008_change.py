# What happened when, trials, actions, packs, receipts, costs; decisions about doubtful sets.

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0007_baselines"),
    ]

    operations = [
        migrations.CreateModel(
            name="CostTable",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("inputs", models.JSONField()),
                ("noted_by", models.CharField(max_length=120)),
                ("role", models.CharField(max_length=120)),
                ("noted_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="KeptReceipt",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                ("made_at", models.DateTimeField()),
                ("question", models.CharField(max_length=64)),
                ("asked", models.JSONField()),
                ("batch", models.PositiveIntegerField()),
                ("state", models.JSONField()),
                ("charter", models.PositiveIntegerField()),
                ("policy", models.PositiveIntegerField()),
                ("code_version", models.CharField(max_length=32)),
                ("said", models.JSONField()),
                ("digest", models.CharField(max_length=64)),
            ],
        ),
        migrations.CreateModel(
            name="TrialProtocol",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("name", models.CharField(max_length=120)),
                ("plan", models.JSONField()),
                ("fingerprint", models.CharField(max_length=64)),
                ("sealed_by", models.CharField(max_length=120)),
                ("role", models.CharField(max_length=120)),
                ("sealed_at", models.DateTimeField()),
                ("batch", models.PositiveIntegerField()),
                ("data_to", models.CharField(blank=True, max_length=10)),
                ("replaces", models.PositiveIntegerField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="CommitteePack",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("made_at", models.DateTimeField()),
                ("from_month", models.CharField(max_length=7)),
                ("to_month", models.CharField(max_length=7)),
                ("batch", models.PositiveIntegerField()),
                ("said", models.JSONField(default=dict)),
                ("receipts", models.JSONField(default=list)),
                ("left_table", models.PositiveIntegerField(blank=True, null=True)),
                ("fingerprint", models.CharField(max_length=64)),
                (
                    "facility",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to="records.facility"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="DiaryEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("kind", models.CharField(max_length=32)),
                ("unit_key", models.CharField(blank=True, max_length=200)),
                ("on", models.DateField()),
                ("until", models.DateField(blank=True, null=True)),
                ("words", models.CharField(max_length=200)),
                ("source", models.CharField(blank=True, max_length=200)),
                ("noted_by", models.CharField(blank=True, max_length=120)),
                ("noted_at", models.DateTimeField()),
                ("replaces", models.PositiveIntegerField(blank=True, null=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                ("withdrawn_why", models.CharField(blank=True, max_length=400)),
                (
                    "facility",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to="records.facility"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="PlannedAction",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("unit_key", models.CharField(blank=True, max_length=200)),
                ("words", models.CharField(max_length=400)),
                ("owner", models.CharField(max_length=120)),
                ("because", models.CharField(blank=True, max_length=400)),
                ("opened_on", models.DateField()),
                ("due_on", models.DateField()),
                ("noted_at", models.DateTimeField()),
                (
                    "facility",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, to="records.facility"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="ActionStep",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("on", models.DateField()),
                ("what", models.CharField(max_length=16)),
                ("words", models.CharField(blank=True, max_length=400)),
                ("owner", models.CharField(blank=True, max_length=120)),
                ("due_on", models.DateField(blank=True, null=True)),
                ("noted_at", models.DateTimeField()),
                (
                    "action",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="steps", to="records.plannedaction"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="SetDecision",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("accession", models.CharField(max_length=200)),
                ("decision", models.CharField(max_length=16)),
                ("initials", models.CharField(max_length=12)),
                ("role", models.CharField(max_length=120)),
                ("why", models.CharField(max_length=400)),
                ("decided_on", models.DateField()),
                ("seen", models.JSONField(default=dict)),
                ("batch", models.PositiveIntegerField()),
                ("noted_at", models.DateTimeField()),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                ("withdrawn_why", models.CharField(blank=True, max_length=400)),
                ("facility", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, to="records.facility")),
            ],
        ),
        migrations.CreateModel(
            name="TrialLook",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField()),
                ("at", models.DateTimeField()),
                ("batch", models.PositiveIntegerField()),
                ("share", models.FloatField()),
                ("outcome", models.JSONField(default=dict)),
                (
                    "protocol",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="looks", to="records.trialprotocol"
                    ),
                ),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("protocol", "number"), name="one_look_per_number")],
            },
        ),
    ]
