from django.apps import AppConfig
from django.utils.module_loading import import_string


class FleetConfig(AppConfig):
    name = "fleet"

    def ready(self):
        import_string("fleet.pages.add_pages")()
        import_string("fleet.importing.registry.register_importers")()
        import_string("fleet.bundle.registry.register_bundle")()
