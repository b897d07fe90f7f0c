from django.apps import AppConfig
from django.core import checks
from django.db.models.signals import post_migrate
from django.utils.module_loading import import_string

from shared import roles, triggers


class SharedConfig(AppConfig):
    name = "shared"

    def ready(self):
        # sent for each app when all have migrated: once is enough
        post_migrate.connect(roles.keep_after_migrate, sender=self, dispatch_uid="shared.triggers")
        # an ordinary check would keep migrate from laying what is missing
        checks.register(triggers.check_triggers, "triggers", deploy=True)
        checks.register(roles.check_role, "triggers", deploy=True)
        checks.register(import_string("shared.seal_check.check_seal"), "seal", deploy=True)
