from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0006_waiting_rounds'),
    ]

    operations = [
        migrations.AddField(
            model_name='tag',
            name='hangs_at',
            field=models.CharField(max_length=120, null=True),
        ),
    ]
