from django.db import migrations, models

from firm.people.sealing import Locked, seal, unseal


def seal_all(apps, schema_editor):
    for factor in apps.get_model("people", "SecondFactor").objects.all():
        factor.secret = seal(factor.secret)
        factor.save(update_fields=["secret"])


def unseal_all(apps, schema_editor):
    for factor in apps.get_model("people", "SecondFactor").objects.all():
        try:
            factor.secret = unseal(factor.secret)
        except Locked:  # of another installation: nobody can use it, here or there
            factor.delete()
        else:
            factor.save(update_fields=["secret"])


class Migration(migrations.Migration):
    """A process of the version before this one refuses the codes of the apps until it is stopped; nothing is lost."""

    dependencies = [("people", "0003_passkey")]
    operations = [
        migrations.AlterField("secondfactor", "secret", models.TextField()),
        migrations.RunPython(seal_all, unseal_all),
    ]
