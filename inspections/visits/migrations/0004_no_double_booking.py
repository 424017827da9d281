"""On PostgreSQL the database itself refuses two open visits of one inspector at the same time, travel counted.

The services lock the inspector's row and look first (`inspections.visits.booking`), on either database; this is the
second bolt on the door, for whatever does not come through them. It wants the extension btree_gist. Where the
database user may not create that, or where two open visits overlap already, the migration says so and goes on: the
lock of the services remains.
"""

import sys

from django.db import DatabaseError, migrations, transaction

NAME = "visit_no_double_booking"
ADD = f"""
ALTER TABLE visits_visit ADD CONSTRAINT {NAME}
EXCLUDE USING gist (inspector_id WITH =, tstzrange(leaves_at, ends_at, '[)') WITH &&)
WHERE (state IN ('booked', 'under_way'))
"""


def add(apps, schema_editor):
    connection = schema_editor.connection
    if connection.vendor != "postgresql":
        return
    try:
        with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
            cursor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")
    except DatabaseError as error:
        _say(
            "the extension btree_gist cannot be created", error,
            "Have the owner of the database run CREATE EXTENSION btree_gist, then run"
            " `manage.py migrate visits 0003` and `manage.py migrate`.",
        )  # fmt: skip
        return
    try:
        with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
            cursor.execute(ADD)
    except DatabaseError as error:
        _say(
            "two open visits of one inspector overlap already", error,
            "Move one of them, then run `manage.py migrate visits 0003` and `manage.py migrate`.",
        )  # fmt: skip


def drop(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"ALTER TABLE visits_visit DROP CONSTRAINT IF EXISTS {NAME}")


def _say(what, error, then):
    sys.stderr.write(
        f"\nDouble booking is held off by the lock of the application alone: {what} ({str(error).strip()}). {then}\n"
    )


class Migration(migrations.Migration):
    dependencies = [("visits", "0003_setting_out_basis_and_reasons")]

    operations = [migrations.RunPython(add, drop)]
