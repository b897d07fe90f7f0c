"""The Celery app that the worker and beat run, and that tasks are published through."""

import os

from celery import Celery
from celery.signals import celeryd_init

from deploy import brokers

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

app = Celery("fleet")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@celeryd_init.connect
def have_patience(conf, **kwargs):
    """Let the worker listen longer than a page may wait to ring."""
    if conf.broker_transport_options == brokers.RING:
        conf.broker_transport_options = brokers.LISTEN
