"""All settings. With none given the tool runs on SQLite and files under ``var/``.

What may be set from outside is read by ``text``, ``flag`` and ``address`` below;
a value that cannot be used stops the start with one line that names it.
"""

import os
import secrets
import sqlite3
from pathlib import Path
from urllib.parse import SplitResult, parse_qs, unquote, urlsplit

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from deploy import sqlite

ROOT = Path(__file__).resolve().parent.parent
YEAR_S = 365 * 24 * 60 * 60


def text(name: str, default: str = "") -> str:
    """Return the environment's value, without spaces around it."""
    return os.environ.get(name, "").strip() or default


def flag(name: str) -> bool:
    """Return whether the environment says yes; not set is no."""
    value = text(name, "no").lower()
    if value not in ("yes", "no"):
        raise ImproperlyConfigured(f"{name} must be yes or no, not {value!r}")
    return value == "yes"


def one_of(name: str, choices: list[str]) -> str:
    """Return the environment's choice, the first one if it makes none."""
    value = text(name, choices[0])
    if value not in choices:
        raise ImproperlyConfigured(f"{name} must be {' or '.join(choices)}, not {value!r}")
    return value


def address(name: str, schemes: list[str], default: str = "") -> SplitResult | None:
    """Return the environment's URL in parts, None if there is none."""
    value = text(name, default)
    if not value:
        return None
    try:
        parts = urlsplit(value)
        unusable = parts.scheme not in schemes or parts.port == 0
        unusable |= parts.scheme in ("http", "https") and not parts.hostname
    except ValueError:
        unusable = True
    if unusable:
        # the value may hold a password: never repeat it
        starts = " or ".join(f"{scheme}://" for scheme in schemes)
        raise ImproperlyConfigured(f"{name} must be an address that begins with {starts}")
    return parts


def seconds(name: str, default: int) -> int:
    """Return the environment's whole number of seconds."""
    value = text(name, str(default))
    if not value.isdecimal() or int(value) < 1:
        raise ImproperlyConfigured(f"{name} must be a whole number of seconds, not {value!r}")
    return int(value)


def words(name: str) -> list[str]:
    """Return the environment's list, told with commas or spaces."""
    return text(name).replace(",", " ").split()


def folder(path: Path) -> Path:
    """Return the folder, made if it is not there yet."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ImproperlyConfigured(f"FLEET_VAR: cannot make {path}: {error.strerror}") from error
    return path


def kept_secret(path: Path) -> str:
    """Return the secret kept in this file, made at the first start."""
    try:
        with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as new:
            new.write(secrets.token_urlsafe(64))
    except FileExistsError:
        pass
    return path.read_text()


def database(parts: SplitResult | None, var: Path) -> dict:
    """Return Django's settings for the database at this address, or for SQLite in ``var``."""
    if parts is None or parts.scheme == "sqlite":
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": str(var / "fleet.sqlite3") if parts is None else parts.path,
            "OPTIONS": sqlite.options(sqlite3.sqlite_version_info),
        }
    socket_folder = parse_qs(parts.query).get("host", [""])[0]
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.removeprefix("/")),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": socket_folder or parts.hostname or "",
        "PORT": parts.port or "",
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
    }


VAR = folder(Path(text("FLEET_VAR", str(ROOT / "var"))).resolve())
DEBUG = flag("FLEET_DEBUG")
SECRET_KEY = text("FLEET_SECRET") or kept_secret(VAR / "secret")
if len(SECRET_KEY) < 50:
    raise ImproperlyConfigured("FLEET_SECRET must be at least 50 characters long")

KEYS = Path(text("FLEET_KEYS", str(VAR / "keys"))).resolve()
CHECKPOINTS = Path(text("FLEET_CHECKPOINTS", str(VAR / "checkpoints"))).resolve()
BACKUPS = Path(text("FLEET_BACKUPS", str(VAR / "backups"))).resolve()
BACKUP_KEY = Path(text("FLEET_BACKUP_KEY")).resolve() if text("FLEET_BACKUP_KEY") else None
# a folder in which trials break the tool on purpose: shared/trials.py
TRIALS = text("FLEET_TRIALS") or None
METRICS_TOKEN = text("FLEET_METRICS_TOKEN") or None
SWEEP_EVERY_S = seconds("FLEET_SWEEP_EVERY", 60)

PUBLIC = address("FLEET_URL", ["http", "https"], "http://127.0.0.1:8000")
FLEET_URL = PUBLIC.geturl().rstrip("/")
IS_HTTPS = PUBLIC.scheme == "https"
ALLOWED_HOSTS = [PUBLIC.hostname, "localhost", "127.0.0.1", "[::1]"]
ALLOWED_HOSTS += words("FLEET_HOSTS")
PROXIES = words("FLEET_PROXIES")
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
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "shared.viewer.ViewerMiddleware",
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

ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

DATABASES = {"default": database(address("FLEET_DATABASE", ["postgresql", "sqlite"]), VAR)}
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
IS_COLLECTED = (STATIC_ROOT / "staticfiles.json").exists()
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
SECURE_HSTS_SECONDS = YEAR_S if IS_HTTPS else 0
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = IS_HTTPS
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
EMAIL_TIMEOUT = 20
if SMTP is None:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = folder(MAIL_FOLDER)
else:
    EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    EMAIL_HOST = SMTP.hostname or "localhost"
    EMAIL_PORT = SMTP.port or {"smtp": 25, "smtp+tls": 587, "smtps": 465}[SMTP.scheme]
    EMAIL_HOST_USER = unquote(SMTP.username or "")
    EMAIL_HOST_PASSWORD = unquote(SMTP.password or "")
    EMAIL_USE_TLS = SMTP.scheme == "smtp+tls"
    EMAIL_USE_SSL = SMTP.scheme == "smtps"

BROKER = address("FLEET_BROKER", ["redis", "rediss"])
if BROKER is None:
    CELERY_BROKER_URL = "filesystem://localhost/"
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(folder(VAR / "broker" / "messages")),
        "data_folder_out": str(VAR / "broker" / "messages"),
        "control_folder": str(folder(VAR / "broker" / "control")),
    }
    # more than one process at the file broker starves
    CELERY_WORKER_POOL = "solo"
else:
    CELERY_BROKER_URL = BROKER.geturl()
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "visibility_timeout": 600,
        "socket_timeout": 5,
        "socket_connect_timeout": 2,
        "health_check_interval": 25,
        "unacked_restore_interval": 10,
        "unacked_restore_throttle": 1,
    }
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

LOG = one_of("FLEET_LOG", ["line", "json"])
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    # standard output belongs to what a command prints
    "handlers": {"terminal": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["terminal"], "level": "INFO"},
    "loggers": {
        "django": {"handlers": [], "level": "INFO", "propagate": True},
        # a line for each sweep would bury the others
        "celery": {"level": "WARNING"},
        # anybody can send these: the answer is a plain 400
        "django.security.DisallowedHost": {"level": "CRITICAL"},
    },
}
