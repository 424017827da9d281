from django.db import migrations, models
from django.utils import timezone

from firm.audit import chain


def chain_old_lines(apps, schema_editor):
    """Give the lines that are there their place and digests, in the order in which they were written."""
    entries = apps.get_model("audit", "AuditEntry")._base_manager.using(schema_editor.connection.alias)
    previous = chain.START
    for position, line in enumerate(entries.order_by("pk").iterator(chunk_size=2000), start=1):
        content = chain.content_digest(line)
        previous = chain.link_digest(previous, content)
        entries.filter(pk=line.pk).update(position=position, content_sha256=content, sha256=previous)


class Migration(migrations.Migration):
    dependencies = [("audit", "0001_first")]

    operations = [
        migrations.AlterField("AuditEntry", "at", models.DateTimeField(default=timezone.now, editable=False)),
        migrations.AddField(
            "AuditEntry", "position", models.PositiveBigIntegerField(null=True, unique=True, editable=False)
        ),
        migrations.AddField(
            "AuditEntry",
            "content_sha256",
            models.CharField(max_length=64, default="", editable=False),
            preserve_default=False,
        ),
        migrations.AddField(
            "AuditEntry",
            "sha256",
            models.CharField(max_length=64, default="", blank=True, editable=False),
            preserve_default=False,
        ),
        migrations.AddIndex("AuditEntry", models.Index(fields=["-at", "-id"], name="audit_newest_first")),
        migrations.RunPython(chain_old_lines, migrations.RunPython.noop),
    ]
