from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("lifts", "0005_joint_figures_typed")]

    operations = [
        migrations.AddField(
            model_name="kit",
            name="sheet_copy_sha256",
            field=models.CharField(blank=True, default="", max_length=64),
        ),
        migrations.AddField(
            model_name="wrenchcertificate",
            name="file_copy_sha256",
            field=models.CharField(max_length=64, null=True),
        ),
    ]
