import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0001_squashed_0012_mail_deaths"),
        ("shared", "0001_squashed_0006_last_done"),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="recheck",
            name="recheck_counts",
        ),
        migrations.AlterField(
            model_name="recheck",
            name="cart",
            field=models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="rechecks",
                to="fleet.cart",
            ),
        ),
        migrations.AlterField(
            model_name="recheck",
            name="site",
            field=models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="shared.site",
            ),
        ),
        migrations.AddIndex(
            model_name="recheck",
            index=models.Index(
                condition=models.Q(("ended", "")),
                fields=["site", "opens_on"],
                include=("due_on", "late_on", "stops_on", "cart", "id"),
                name="recheck_counts",
            ),
        ),
    ]
