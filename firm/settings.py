"""Settings. With nothing set it runs on one machine, with no server beside it; every real part is one variable away.

The variables are listed in DEVELOPERS.md. `firm.env` reads them and refuses what it cannot read.
"""

from pathlib import Path
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import environ
from csp.constants import NONCE, NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from firm.env import bucket_options, env_list, env_text, env_whole_number, env_yes_no, read_or_make_secret

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env_text("SOUNDINGS_DATA", str(BASE_DIR / ".data"))).resolve()

# --- who may reach it, and how -------------------------------------------------------------------------------------
DEBUG = env_yes_no("DEBUG", False)
SECRET_KEY = env_text("SECRET_KEY") or read_or_make_secret(DATA_DIR / "secret-key")
SECRET_KEY_FALLBACKS = env_list("SECRET_KEY_FALLBACKS", [])  # former ones, while what they signed is still about
PUBLIC_URL = env_text("PUBLIC_URL", "http://127.0.0.1:8000").rstrip("/")  # printed in mails and reports
_public = urlsplit(PUBLIC_URL)
if _public.scheme not in ("http", "https") or not _public.hostname:
    raise ImproperlyConfigured(f"PUBLIC_URL={PUBLIC_URL!r}: say http://host or https://host")
ALLOWED_HOSTS = env_list("ALLOWED_HOSTS", sorted({"localhost", "127.0.0.1", "[::1]", _public.hostname}))
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL]

# A header that anybody can send must not be believed unless a proxy of ours stands in front and sets it.
BEHIND_PROXY = env_yes_no("BEHIND_PROXY", False)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None

PUBLIC_HOST = _public.hostname
IS_HTTPS = _public.scheme == "https"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = IS_HTTPS
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SECURE_HSTS_SECONDS = 31_536_000 if IS_HTTPS else 0
# Only behind a proxy is it known which requests came encrypted. The two that are asked from inside the machine stay.
SECURE_SSL_REDIRECT = IS_HTTPS and BEHIND_PROXY
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$"]
# HSTS for sub-domains, or for a list that browsers bring along, would bind other servers of the firm that we know
# nothing of.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "firm.web.errors.form_expired"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        # The nonce appears only on a page that asks for request.csp_nonce. WebAssembly may be compiled, which a tablet
        # without signal judges with (static/js/verdicts); it does not allow eval().
        "script-src": [SELF, NONCE, "'wasm-unsafe-eval'"],
        "worker-src": [SELF],
        "style-src": [SELF, NONCE],
        "img-src": [SELF, "data:", "blob:"],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

# --- what it is made of --------------------------------------------------------------------------------------------
INSTALLED_APPS = [
    "firm",
    "firm.people",
    "firm.audit",
    "firm.jobs",
    "firm.mail",
    "firm.web",
    "firm.branding",
    "firm.clients",
    "firm.properties",
    "firm.rules",
    "firm.hours",
    "firm.letters",
    "firm.setup",
    "firm.backup",
    "firm.operations",
    "inspections.visits",
    "inspections.calendar",
    "inspections.survey",
    "inspections.findings",
    "inspections.photos",
    "inspections.comments",
    "inspections.reports",
    "inspections.spanish",
    "inspections.outside",
    "inspections.exchange",
    "inspections.trends",
    "inspections.sync",
    "inspections.demo",
    "django_htmx",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
]
MIDDLEWARE = [
    "firm.web.request_log.RequestLogMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "firm.web.guard.GuardMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",  # below those that set headers: static files carry them too
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "firm.people.devices.NoteDevices",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]
ROOT_URLCONF = "firm.urls"
WSGI_APPLICATION = "firm.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "csp.context_processors.nonce",
                "firm.web.context.firm_and_capabilities",
            ]
        },
    }
]
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- who may sign in -----------------------------------------------------------------------------------------------
AUTH_USER_MODEL = "people.User"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
SIGN_IN_TRIES = 8  # wrong passwords for one user name from one address before it has to wait
SIGN_IN_WAIT_S = 300

# --- where things are kept -----------------------------------------------------------------------------------------
if env_text("DATABASE_URL"):
    _database = environ.Env.db_url_config(env_text("DATABASE_URL"))
    if _database["ENGINE"] != "django.db.backends.postgresql":
        raise ImproperlyConfigured("DATABASE_URL: say postgres://..., or leave it out for SQLite")
    DATABASES = {"default": {**_database, "CONN_MAX_AGE": 60, "CONN_HEALTH_CHECKS": True}}
else:
    DATABASES = {
        "default": {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": DATA_DIR / "soundings.sqlite3",
            "OPTIONS": {
                "timeout": 20,  # seconds that a writer waits for the one before it
                # A transaction that reads first and writes later cannot wait for its turn: SQLite refuses it at once.
                "transaction_mode": "IMMEDIATE",
                # FULL and not NORMAL: in WAL, NORMAL may forget the last commits when the power fails, and an
                # issued report or a booking that was confirmed on the telephone must not be forgotten.
                "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
            },
        }
    }

MEDIA_ROOT = Path(env_text("MEDIA_ROOT", str(DATA_DIR / "media")))
MEDIA_URL = "media/"  # never served by path: every photo and PDF goes through a view that asks who may see it
STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
# An object store of the S3 kind in the place of that folder, for several hosts; empty: the folder.
MEDIA_BUCKET = env_text("MEDIA_BUCKET")
STORAGES = {
    "default": {"BACKEND": "firm.web.bucket.Bucket", "OPTIONS": bucket_options(MEDIA_BUCKET)}
    if MEDIA_BUCKET
    else {"BACKEND": "firm.web.storage.WholeFiles"},
    "staticfiles": {"BACKEND": "firm.web.storage.HashedStaticFiles"},
}

BACKUP_DIR = Path(env_text("BACKUP_DIR", str(DATA_DIR / "backups")))
BACKUP_DAILY = env_yes_no("BACKUP_DAILY", True)
BACKUP_HOUR = env_whole_number("BACKUP_HOUR", 2, least=0)  # by the firm's clock; whoever slept then makes it later
if BACKUP_HOUR > 23:
    raise ImproperlyConfigured(f"BACKUP_HOUR={BACKUP_HOUR}: say 0 to 23")
BACKUP_RECIPIENT = env_text("BACKUP_RECIPIENT")  # an age public key; empty: backups are not encrypted

FILE_UPLOAD_MAX_MEMORY_SIZE = 2_621_440  # bytes (2.5 MB); larger ones go to a temporary file
DATA_UPLOAD_MAX_MEMORY_SIZE = 5_242_880  # bytes of form fields, the files not counted
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4_000  # a survey page has many fields
PHOTO_MAX_BYTES = env_whole_number("PHOTO_MAX_BYTES", 25 * 1024 * 1024, least=1)
REQUEST_MAX_BYTES = max(64 * 1024 * 1024, PHOTO_MAX_BYTES + 1024 * 1024)  # of a whole request, files counted
PHOTO_MAX_PIXELS = env_whole_number("PHOTO_MAX_PIXELS", 60_000_000, least=1)

# --- mail ----------------------------------------------------------------------------------------------------------
if env_text("EMAIL_URL"):
    _mail = environ.Env.email_url_config(env_text("EMAIL_URL"))
    EMAIL_BACKEND = _mail["EMAIL_BACKEND"]
    EMAIL_HOST, EMAIL_PORT = _mail["EMAIL_HOST"], _mail["EMAIL_PORT"] or 25
    EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = _mail["EMAIL_HOST_USER"] or "", _mail["EMAIL_HOST_PASSWORD"] or ""
    EMAIL_USE_TLS, EMAIL_USE_SSL = _mail.get("EMAIL_USE_TLS", False), _mail.get("EMAIL_USE_SSL", False)
else:
    EMAIL_BACKEND = "firm.mail.folder.FolderBackend"
EMAIL_FILE_PATH = DATA_DIR / "mail"
EMAIL_TIMEOUT = 10  # seconds, below the lease of a job
DEFAULT_FROM_EMAIL = env_text("MAIL_FROM", f"Soundings <soundings@{_public.hostname}>")
SERVER_EMAIL = DEFAULT_FROM_EMAIL

# --- work done outside a request (see firm/jobs) -------------------------------------------------------------------
# The rows are the truth and the broker only rings the bell: nothing here needs to survive a crash.
BROKER_DIR = DATA_DIR / "broker"
CELERY_BROKER_URL = env_text("CELERY_BROKER_URL", "folder://localhost//")  # the default: see firm/jobs/folder.py
if CELERY_BROKER_URL.startswith("folder:"):
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(BROKER_DIR / "messages"),
        "data_folder_out": str(BROKER_DIR / "messages"),  # the same: the sender and the reader stand on one machine
        "control_folder": str(BROKER_DIR / "control"),
        "polling_interval": 0.2,
    }
else:
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        # A message that is delivered twice finds its row taken, so a short timeout costs nothing. Without the two
        # that follow, Redis gives back the messages of a killed worker a minute and a half late.
        "visibility_timeout": 60,
        "unacked_restore_interval": 2,
        "unacked_restore_throttle": 1,
        # A dead broker must not hold up the request that rings: the sweep rings again.
        "socket_connect_timeout": 2,
        "socket_timeout": 5,
        "max_retries": 1,
        "interval_start": 0,
        "interval_step": 0.2,
    }
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TASK_PUBLISH_RETRY = False  # for the same reason
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_DEFAULT_QUEUE = "quick"
CELERY_TASK_ROUTES = ("firm.jobs.lines.route",)
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_CONCURRENCY = env_whole_number("WORKER_CONCURRENCY", 2, least=1)
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_WORKER_REDIRECT_STDOUTS = False
CELERY_WORKER_ENABLE_REMOTE_CONTROL = False
CELERY_WORKER_MAX_MEMORY_PER_CHILD = 600_000  # kilobytes: a long PDF leaves a large heap behind
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA_DIR / "beat" / "schedule")
CELERY_BEAT_MAX_LOOP_INTERVAL = 5
JOB_LEASE_S = 20  # a killed worker's job is taken up again this long after its last heartbeat, at the next sweep
JOB_HEARTBEAT_S = 5
JOB_SWEEP_S = 5

# The sign-in counter must be one for all web workers; a folder is shared by the workers of one machine.
if CELERY_BROKER_URL.startswith(("redis:", "rediss:")):
    _waits_s = {"socket_connect_timeout": 1, "socket_timeout": 1}
    CACHES = {
        "default": {"BACKEND": "firm.web.cache.ForgivingRedis", "LOCATION": CELERY_BROKER_URL, "OPTIONS": _waits_s}
    }
else:
    CACHES = {
        "default": {"BACKEND": "django.core.cache.backends.filebased.FileBasedCache", "LOCATION": DATA_DIR / "cache"}
    }

# --- words and hours -----------------------------------------------------------------------------------------------
LANGUAGE_CODE = "en-us"
USE_I18N = True  # the client's page and its mail may be read in Spanish; nothing else is translated
USE_TZ = True
TIME_ZONE = env_text("FIRM_TIME_ZONE", "America/New_York")
try:
    ZoneInfo(TIME_ZONE)
except (ZoneInfoNotFoundError, ValueError) as error:
    raise ImproperlyConfigured(f"FIRM_TIME_ZONE={TIME_ZONE!r}: no such time zone") from error
CELERY_TIMEZONE = TIME_ZONE

# --- what it writes down -------------------------------------------------------------------------------------------
LOG_FORMAT = env_text("LOG_FORMAT", "line")
if LOG_FORMAT not in ("line", "json"):
    raise ImproperlyConfigured(f"LOG_FORMAT={LOG_FORMAT!r}: say line or json")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"request_id": {"()": "firm.web.request_log.RequestIdFilter"}},
    "formatters": {
        "line": {
            "()": "firm.web.logs.LineFormatter",
            "fmt": "%(asctime)s %(levelname)s %(name)s [%(request_id)s] %(message)s",
        },
        "json": {"()": "firm.web.logs.JsonFormatter"},
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": LOG_FORMAT, "filters": ["request_id"]}},
    "root": {"handlers": ["console"], "level": env_text("LOG_LEVEL", "INFO").upper()},
    "loggers": {
        "django": {"handlers": [], "level": "INFO", "propagate": True},
        "django.server": {"handlers": [], "propagate": True},
        "fontTools": {"level": "WARNING"},
        "weasyprint": {"level": "ERROR"},
        "celery": {"level": "WARNING"},
    },
}
