from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("lifts", "0003_grease_and_label_seen")]

    operations = [
        migrations.AddField(
            model_name="look",
            name="is_always_new",
            field=models.BooleanField(null=True),
        ),
        migrations.AddField(
            model_name="look",
            name="full_loss_deg",
            field=models.DecimalField(decimal_places=2, max_digits=7, null=True),
        ),
    ]
