"""All settings. With none given the tool runs on SQLite and files under ``var/``.

What may be set from outside is read by ``deploy/reading.py``.
"""

import sqlite3
import sys
from pathlib import Path

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from deploy import process, sqlite
from deploy.brokers import broker
from deploy.databases import database
from deploy.logs import logging_settings
from deploy.mails import mail
from deploy.reading import (
    address,
    flag,
    folder,
    kept_secret,
    networks,
    one_of,
    seconds,
    text,
    words,
)

ROOT = Path(__file__).resolve().parent.parent
YEAR_S = 365 * 24 * 60 * 60
WEEK_S = 7 * 24 * 60 * 60

VAR = folder(Path(text("FLEET_VAR", str(ROOT / "var"))).resolve())
DEBUG = flag("FLEET_DEBUG")
SECRET_KEY = text("FLEET_SECRET") or kept_secret(VAR / "secret")
if len(SECRET_KEY) < 50:
    raise ImproperlyConfigured("FLEET_SECRET must be at least 50 characters long")

KEYS = Path(text("FLEET_KEYS", str(VAR / "keys"))).resolve()
CHECKPOINTS = Path(text("FLEET_CHECKPOINTS", str(VAR / "checkpoints"))).resolve()
BACKUPS = Path(text("FLEET_BACKUPS", str(VAR / "backups"))).resolve()
BACKUP_KEY = Path(text("FLEET_BACKUP_KEY")).resolve() if text("FLEET_BACKUP_KEY") else None
METRICS_TOKEN = text("FLEET_METRICS_TOKEN") or None
SWEEP_EVERY_S = seconds("FLEET_SWEEP_EVERY", 60)

PUBLIC = address("FLEET_URL", ["http", "https"], "http://127.0.0.1:8000")
FLEET_URL = PUBLIC.geturl().rstrip("/")
IS_HTTPS = PUBLIC.scheme == "https"
# a folder in which trials break the tool on purpose: shared/trials.py
TRIALS = text("FLEET_TRIALS") or None
if TRIALS and IS_HTTPS:
    raise ImproperlyConfigured("FLEET_TRIALS breaks the tool: unset it where FLEET_URL is https")
ALLOWED_HOSTS = [PUBLIC.hostname, "localhost", "127.0.0.1", "[::1]"]
ALLOWED_HOSTS += words("FLEET_HOSTS")
PROXIES = networks("FLEET_PROXIES")
CSRF_TRUSTED_ORIGINS = [f"{PUBLIC.scheme}://{PUBLIC.netloc}"]

INSTALLED_APPS = [
    "shared.apps.SharedConfig",
    "fleet.apps.FleetConfig",
    "lifts.apps.LiftsConfig",
    "alignment.apps.AlignmentConfig",
    "deploy.apps.DeployConfig",
    "django_tables2",
    "django_filters",
    "csp",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "deploy.request_ids.RequestIdMiddleware",
    "deploy.proxies.ProxiesMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "deploy.session_limits.SessionLimitsMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "shared.viewer.ViewerMiddleware",
    "shared.forms_only.FormsOnlyMiddleware",
    "shared.behind.BehindMiddleware",
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.template.context_processors.i18n",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shared.viewer.page",
                "shared.behind.behind",
            ],
        },
    },
]

# the same HTML; a round's page has 300 widgets, and takes two thirds of the time
FORM_RENDERER = "django.forms.renderers.Jinja2"

ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

DATABASE = address("FLEET_DATABASE", ["postgresql", "sqlite"])
DATABASES = {"default": database(DATABASE, VAR, is_web=process.is_web)}
SQLITE_WAL_IS_SOUND = sqlite.wal_is_sound(sqlite3.sqlite_version_info)

AUTH_USER_MODEL = "shared.Person"
LOGIN_URL = "/sign-in/"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = LOGIN_URL
# NIST SP 800-63B-4: length and a list of common ones, no rules on composition
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 15},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "/static/"
STATIC_ROOT = folder(VAR / "static")
MEDIA_ROOT = folder(VAR / "media")
MEDIA_URL = "/media/"
WHITENOISE_USE_FINDERS = True
# the first collecting writes what says so
IS_COLLECTED = (STATIC_ROOT / "staticfiles.json").exists() or "collectstatic" in sys.argv
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if IS_COLLECTED
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}

DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000
DATA_UPLOAD_MAX_NUMBER_FILES = 20

X_FRAME_OPTIONS = "DENY"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_SSL_REDIRECT = IS_HTTPS
# a monitor on this machine asks without the proxy
SECURE_REDIRECT_EXEMPT = [r"^health/$", r"^metrics/$"]
SECURE_HSTS_SECONDS = YEAR_S if IS_HTTPS else 0
# the proxies' middleware drops it when anybody else says so
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if PROXIES else None
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = IS_HTTPS
# a browser takes such a name only from this very host, by https (RFC 6265bis, 4.1.3.2)
SESSION_COOKIE_NAME = "__Host-sessionid" if IS_HTTPS else "sessionid"
CSRF_COOKIE_NAME = "__Host-csrftoken" if IS_HTTPS else "csrftoken"
# the row and the cookie; deploy/session_limits.py ends it sooner
SESSION_ENGINE = "deploy.sessions"
SESSION_COOKIE_AGE = WEEK_S
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
# W005, W021: other hosts under the same domain are not this tool's to bind;
# W040: SQLite leaves out the columns that an index only carries along
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021", "models.W040"]
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    },
}

MAIL_FOLDER = VAR / "mail"
SMTP = address("FLEET_SMTP", ["smtp", "smtp+tls", "smtps"])
DEFAULT_FROM_EMAIL = text("FLEET_MAIL_FROM", "fleet@localhost")
# for each read; who sends a letter at a time is ended from outside
EMAIL_TIMEOUT = 20
globals().update(mail(SMTP, MAIL_FOLDER))

globals().update(broker(address("FLEET_BROKER", ["redis", "rediss"]), VAR))
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_TIME_LIMIT = 120
CELERY_TASK_SOFT_TIME_LIMIT = 90
# a page never waits for a broker: the row is the queue
CELERY_TASK_PUBLISH_RETRY = False
CELERY_WORKER_ENABLE_REMOTE_CONTROL = False
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_MAX_TASKS_PER_CHILD = 500
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_ENABLE_UTC = True
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULE = {"sweep": {"task": "fleet.sweep", "schedule": float(SWEEP_EVERY_S)}}
CELERY_BEAT_SCHEDULER = "deploy.beat:SteadyScheduler"
CELERY_BEAT_MAX_LOOP_INTERVAL = 30

LOG = one_of("FLEET_LOG", ["line", "json"], text("FLEET_LOG", "line"))
LOGGING = logging_settings(LOG)
