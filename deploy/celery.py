"""The Celery app that the worker and beat run, and that tasks are published through."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

app = Celery("fleet")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
