"""Settings, addresses and the start of the whole tool."""

from deploy.celery import app as celery_app

__all__ = ["celery_app"]
