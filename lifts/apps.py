from django.apps import AppConfig


class LiftsConfig(AppConfig):
    name = "lifts"
