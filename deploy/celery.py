"""The Celery app that the worker and beat run, and that tasks are published through."""

import os

from celery import Celery
from celery.signals import celeryd_init, task_received, worker_ready

from deploy import brokers, silence

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

app = Celery("fleet")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@celeryd_init.connect
def have_patience(conf, **kwargs):
    """Let the worker listen longer than a page may wait to ring."""
    options = conf.broker_transport_options
    if options == brokers.RING:
        # in place: what is set anew on conf loses against Django's settings
        options.clear()
        options.update(brokers.LISTEN)


@worker_ready.connect
def end_in_silence(**kwargs):
    """Let the worker end when no task has come to it for long."""
    heard = silence.Silence(silence.limit_s(), silence.end_worker)
    task_received.connect(heard.break_off, weak=False)
    heard.listen()
