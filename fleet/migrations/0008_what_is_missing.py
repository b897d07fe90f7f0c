from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ('fleet', '0007_where_a_tag_hangs'),
    ]

    operations = [
        migrations.AddField(
            model_name='cart',
            name='missing',
            field=models.JSONField(blank=True, default=list),
        ),
    ]
