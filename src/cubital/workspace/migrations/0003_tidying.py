# Compactions, promises beyond the keep time, the keep time itself, and which old states were let go.

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0002_policy_on_collecting")]

    operations = [
        migrations.AddField(model_name="batch", name="released_at", field=models.DateTimeField(blank=True, null=True)),
        migrations.CreateModel(
            name="Compaction",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("batch", models.PositiveIntegerField()),
                ("compacted_at", models.DateTimeField()),
                ("files_before", models.PositiveIntegerField()),
                ("files_after", models.PositiveIntegerField()),
                ("sets_version", models.IntegerField()),
                ("bottles_version", models.IntegerField()),
                ("isolates_version", models.IntegerField()),
                ("movements_version", models.IntegerField()),
            ],
        ),
        migrations.CreateModel(
            name="Promise",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("batch", models.PositiveIntegerField()),
                ("reason", models.CharField(max_length=200)),
                ("made_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="CareSetting",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("keep_days", models.PositiveIntegerField(blank=True, null=True)),
            ],
        ),
    ]
