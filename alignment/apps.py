from django.apps import AppConfig


class AlignmentConfig(AppConfig):
    name = "alignment"
