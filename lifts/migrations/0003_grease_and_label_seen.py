from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('lifts', '0002_torque_records'),
    ]

    operations = [
        migrations.AddField(
            model_name='greasepart',
            name='is_whole',
            field=models.BooleanField(null=True),
        ),
        migrations.AddField(
            model_name='greasestroke',
            name='fittings',
            field=models.PositiveSmallIntegerField(null=True),
        ),
        migrations.AddField(
            model_name='labelcheck',
            name='number_in_picture',
            field=models.BooleanField(null=True),
        ),
        migrations.AddField(
            model_name='labelcheck',
            name='uncovered',
            field=models.BooleanField(null=True),
        ),
    ]
