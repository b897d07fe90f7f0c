from django.apps import AppConfig
from django.utils.module_loading import import_string


class AlignmentConfig(AppConfig):
    name = "alignment"

    def ready(self):
        import_string("alignment.registry.register_all")()
