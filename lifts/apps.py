from django.apps import AppConfig
from django.utils.module_loading import import_string


class LiftsConfig(AppConfig):
    name = "lifts"

    def ready(self):
        # models are loaded only by now
        import_string("lifts.registry.register_all")()
