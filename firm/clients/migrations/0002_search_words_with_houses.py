from django.db import migrations, models


class Migration(migrations.Migration):
    """The words are filled in by `properties` 0003, which knows the houses."""

    dependencies = [("clients", "0001_first")]

    operations = [
        migrations.AddField("client", "search_all", models.TextField(default="", editable=False)),
    ]
