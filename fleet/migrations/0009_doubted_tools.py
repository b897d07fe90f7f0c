import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ('fleet', '0008_what_is_missing'),
    ]

    operations = [
        migrations.AlterField(
            model_name='notice',
            name='cart',
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name='+',
                to='fleet.cart',
            ),
        ),
        migrations.AlterField(
            model_name='notice',
            name='stage',
            field=models.CharField(
                choices=[
                    ('open', 'opened'),
                    ('due', 'fell due'),
                    ('late', 'went late'),
                    ('stopped', 'stopped'),
                    ('tagged', 'tagged'),
                    ('moving', 'stopped, and its meter still rises'),
                    ('two rounds', 'two rounds at once'),
                    ('doubted', 'a tool is doubted'),
                ],
                max_length=10,
            ),
        ),
    ]
