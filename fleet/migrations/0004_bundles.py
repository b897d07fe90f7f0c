from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("fleet", "0003_checkpoint_mails")]

    operations = [migrations.RenameModel("Export", "Bundle")]
