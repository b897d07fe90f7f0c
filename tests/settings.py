"""The settings that tests run with: FLEET_TEST_DATABASE, or SQLite in memory."""

from deploy.databases import database
from deploy.reading import address
from deploy.settings import *  # noqa: F403 - all of them, but for the few below
from deploy.settings import VAR

FLEET_TEST_DATABASE = address("FLEET_TEST_DATABASE", ["postgresql", "sqlite"])
DATABASES = {"default": database(FLEET_TEST_DATABASE, VAR)}
if FLEET_TEST_DATABASE is not None and FLEET_TEST_DATABASE.scheme == "sqlite":
    DATABASES["default"]["TEST"] = {"NAME": FLEET_TEST_DATABASE.path}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
CELERY_BROKER_URL = "memory://"
CELERY_BROKER_TRANSPORT_OPTIONS = {}
