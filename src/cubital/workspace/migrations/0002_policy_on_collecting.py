# The policy on collecting: versions of its file, each with the seal of its approval.

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0001_records")]

    operations = [
        migrations.CreateModel(
            name="CollectionPolicyRecord",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("version", models.PositiveIntegerField(unique=True)),
                ("text", models.TextField()),
                ("seal", models.CharField(blank=True, max_length=64)),
                ("created_at", models.DateTimeField()),
            ],
        ),
    ]
