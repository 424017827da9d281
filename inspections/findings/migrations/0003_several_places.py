from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("findings", "0002_defect_answers_a_check")]

    operations = [
        migrations.AlterField(
            model_name="finding",
            name="place",
            field=models.CharField(blank=True, help_text="Several are parted by semicolons.", max_length=300),
        ),
    ]
