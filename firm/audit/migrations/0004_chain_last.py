from django.db import migrations

from firm.audit import triggers


def put_anew(apps, schema_editor):
    triggers.lift(schema_editor.connection)
    triggers.put(schema_editor.connection)


class Migration(migrations.Migration):
    """Two writers could wait for each other for ever: see `firm.audit.triggers`."""

    dependencies = [("audit", "0003_guard")]
    operations = [migrations.RunPython(put_anew, migrations.RunPython.noop)]
