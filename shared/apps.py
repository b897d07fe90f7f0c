from django.apps import AppConfig
from django.core import checks
from django.db.models.signals import post_migrate

from shared import triggers


class SharedConfig(AppConfig):
    name = "shared"

    def ready(self):
        post_migrate.connect(triggers.lay_after_migrate, dispatch_uid="shared.triggers")
        checks.register(triggers.check_triggers, checks.Tags.database)
