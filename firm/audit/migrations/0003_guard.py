from django.db import migrations

from firm.audit import triggers


def put_the_guard(apps, schema_editor):
    triggers.put(schema_editor.connection)


def lift_the_guard(apps, schema_editor):
    triggers.lift(schema_editor.connection)


class Migration(migrations.Migration):
    """Apart from the chaining of old lines: PostgreSQL sets no trigger on a table with changes still to be checked."""

    dependencies = [("audit", "0002_chain")]
    operations = [migrations.RunPython(put_the_guard, lift_the_guard)]
