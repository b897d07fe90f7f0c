from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("fleet", "0014_lean_notice_indexes")]

    operations = [
        migrations.RemoveIndex(
            model_name="recheck",
            name="recheck_counts",
        ),
        migrations.AddIndex(
            model_name="recheck",
            index=models.Index(
                condition=models.Q(("ended", "")),
                fields=["site", "opens_on"],
                include=("due_on", "late_on", "stops_on", "cart", "id", "kind_code", "minutes"),
                name="recheck_counts",
            ),
        ),
    ]
