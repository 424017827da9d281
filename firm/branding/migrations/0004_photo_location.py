from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("branding", "0003_retention_years")]

    operations = [
        migrations.AddField(
            model_name="firm",
            name="keeps_photo_location",
            field=models.BooleanField(
                default=False,
                help_text="Only in the file as it came, for staff. What a client gets never says it.",
                verbose_name="hand out photo files with the place where they were taken",
            ),
        ),
    ]
