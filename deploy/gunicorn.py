"""What gunicorn's own lines look like, before its workers have read the settings."""

from deploy.logs import logging_settings
from deploy.reading import one_of, text

logconfig_dict = logging_settings(one_of("FLEET_LOG", ["line", "json"], text("FLEET_LOG", "line")))
