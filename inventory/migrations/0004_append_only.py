from django.db import migrations

from inventory.ledger.triggers import RecreateTriggers


class Migration(migrations.Migration):
    dependencies = [("inventory", "0003_ledger")]

    operations = [RecreateTriggers()]
