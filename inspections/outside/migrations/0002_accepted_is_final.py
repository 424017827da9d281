from django.db import migrations

from inspections.outside import guard


def put_the_guard(apps, schema_editor):
    guard.put(schema_editor.connection)


def lift_the_guard(apps, schema_editor):
    guard.lift(schema_editor.connection)


class Migration(migrations.Migration):
    """Apart from the tables: PostgreSQL sets no trigger on a table with changes still to be checked."""

    dependencies = [("outside", "0001_first")]
    operations = [migrations.RunPython(put_the_guard, lift_the_guard)]
