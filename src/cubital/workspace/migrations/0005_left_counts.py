# What left the workspace for others: which counts were shown and which were hidden.

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0004_people")]

    operations = [
        migrations.CreateModel(
            name="LeftTable",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("left_at", models.DateTimeField()),
                ("face", models.CharField(max_length=64)),
                ("about", models.CharField(max_length=200)),
                ("batch", models.PositiveIntegerField()),
                ("policy", models.CharField(max_length=16)),
                ("low", models.PositiveIntegerField()),
                ("high", models.PositiveIntegerField()),
                ("cells", models.JSONField(default=list)),
                ("sums", models.JSONField(default=list)),
                ("fingerprint", models.CharField(max_length=64)),
            ],
        ),
    ]
