"""The web application that the server runs."""

import os

from django.core.wsgi import get_wsgi_application

from deploy import process

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
process.is_web = True

application = get_wsgi_application()
