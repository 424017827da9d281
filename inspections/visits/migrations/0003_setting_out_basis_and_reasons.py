from datetime import timedelta

from django.db import migrations, models


def say_when_each_sets_out(apps, schema_editor):
    rows = apps.get_model("visits", "Visit").objects.only("pk", "starts_at", "travel_minutes", "leaves_at")
    waiting = []
    for visit in rows.iterator(chunk_size=2000):
        visit.leaves_at = visit.starts_at - timedelta(minutes=visit.travel_minutes)
        waiting.append(visit)
        if len(waiting) == 2000:
            rows.bulk_update(waiting, ["leaves_at"])
            waiting = []
    rows.bulk_update(waiting, ["leaves_at"])


class Migration(migrations.Migration):
    dependencies = [("visits", "0002_calendar_version")]

    operations = [
        migrations.AddField("visit", "leaves_at", models.DateTimeField(editable=False, null=True)),
        migrations.RunPython(say_when_each_sets_out, migrations.RunPython.noop),
        migrations.AlterField("visit", "leaves_at", models.DateTimeField(editable=False)),
        migrations.AddField("visit", "basis", models.JSONField(editable=False, null=True)),
        migrations.AddField(
            "visit",
            "called_off_kind",
            models.CharField(
                blank=True,
                choices=[
                    ("client", "The client asked"),
                    ("nobody_there", "Nobody was there"),
                    ("weather", "The weather"),
                    ("no_way_in", "Could not get to the deck"),
                    ("our_side", "On our side"),
                    ("other", "Another reason"),
                ],
                default="",
                max_length=12,
            ),
            preserve_default=False,
        ),
    ]
