"""All settings, read from the environment; what a shop owns lives in one data folder."""

import os
import secrets
from datetime import timedelta
from pathlib import Path

import dj_database_url
import django_stubs_ext
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

django_stubs_ext.monkeypatch()

BASE_DIR = Path(__file__).resolve().parent.parent


def _on(name: str) -> bool:
    return os.environ.get(name, "").lower() in {"1", "yes", "on", "true"}


DATA_DIR = Path(os.environ.get("PLANNER_DATA", BASE_DIR / "data" / "shop")).resolve()
BACKUP_DIR = DATA_DIR / "backups"
FILES_DIR = DATA_DIR / "files"


def _secret_key() -> str:
    """The key from the environment, or the one kept in the data folder, made on first use."""
    if given := os.environ.get("PLANNER_SECRET_KEY"):
        return given
    kept = DATA_DIR / "secret_key"
    DATA_DIR.mkdir(parents=True, exist_ok=True)
    try:
        handle = os.open(kept, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return kept.read_text(encoding="ascii")
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(64))
    return kept.read_text(encoding="ascii")


SECRET_KEY = _secret_key()
DEBUG = _on("PLANNER_DEBUG")
ALLOWED_HOSTS = os.environ.get("PLANNER_HOSTS", "localhost 127.0.0.1 [::1]").split()
CSRF_TRUSTED_ORIGINS = os.environ.get("PLANNER_ORIGINS", "").split()

# HTTPS is spoken by the reverse proxy in front; a shop on its own network may go without.
HTTPS = _on("PLANNER_HTTPS")
SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
# A proxy asks for the health page itself, without HTTPS.
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = int(timedelta(days=14).total_seconds())

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django_htmx",
    "django_tables2",
    "csp",
    "axes",
    "django_tasks",
    "django_tasks_db",
    "inventory",
    "jobs",
    "shopparts",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "shopparts.kept_by_browser.keep_no_page",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "shopparts.sent_by_page.tell_where_it_leads",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "shopparts.urls"
WSGI_APPLICATION = "shopparts.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shopparts.shell.shell",
            ],
        },
    },
]


def _database() -> dict[str, object]:
    url = os.environ.get("DATABASE_URL") or f"sqlite:///{DATA_DIR / 'planner.sqlite3'}"
    database: dict[str, object] = dict(dj_database_url.parse(url))
    if database["ENGINE"] == "django.db.backends.sqlite3":
        # IMMEDIATE: a writer waits at the start of its transaction instead of failing at the end.
        database["OPTIONS"] = {
            "transaction_mode": "IMMEDIATE",
            "timeout": 30,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
        }
        # Threads of a test each open their own connection, which an in-memory database forbids.
        database["TEST"] = {
            "NAME": os.environ.get("PLANNER_TEST_DB", str(DATA_DIR / "test.sqlite3"))
        }
    elif database["ENGINE"] == "django.db.backends.postgresql":
        database["CONN_MAX_AGE"] = 60
        database["CONN_HEALTH_CHECKS"] = True
    else:
        raise ImproperlyConfigured(
            f"DATABASE_URL names {database['ENGINE']}; use sqlite:/// or postgresql://."
        )
    return database


DATABASES = {"default": _database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "shopparts.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
    "shopparts.pins.PinBackend",
]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
LOGIN_URL = "log_in"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "log_in"

# Five wrong passwords, then a quarter of an hour of rest for that name from that address.
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "locked_out.html"
AXES_HTTP_RESPONSE_CODE = 429
AXES_VERBOSE = False
AXES_DISABLE_ACCESS_LOG = True

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    }
}

LANGUAGE_CODE = "en-us"
USE_I18N = False
TIME_ZONE = "UTC"
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
WHITENOISE_MAX_AGE = 31_536_000

DJANGO_TABLES2_TEMPLATE = "inventory/_table.html"

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

# A worker that has not been heard of for so long has died.
RUN_DEAD_AFTER = timedelta(seconds=int(os.environ.get("PLANNER_DEAD_AFTER", "60")))

# Uploads above this size are parsed by the worker, never by the web process.
PARSED_HERE_BYTES = 1_000_000
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
FILE_UPLOAD_MAX_MEMORY_SIZE = 1_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000

MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": os.environ.get("PLANNER_LOG_LEVEL", "WARNING")},
}
