"""Settings of the embedded default, every one of them open to the environment.

Nothing set: SQLite and e-mail files under ``var/``, a cache in memory, no broker, a secret key made once.
``DATABASE_URL``, ``REDIS_URL`` and ``EMAIL_URL`` turn on PostgreSQL, Redis and SMTP with no other change.
``production`` starts from here and refuses to run without them.
"""

import os
import secrets
from pathlib import Path

import environ

from api.config import enum_names

BASE_DIR = Path(__file__).resolve().parents[3]

env = environ.Env()

# Beside manage.py, wherever the process was started.
VAR_DIR = BASE_DIR / Path(env.str("HANDREAR_VAR", "var")).expanduser()
VAR_DIR.mkdir(parents=True, exist_ok=True)


def embedded_secret_key(path: Path) -> str:
    """The key of this installation: made at the first start, kept beside its data, readable by its owner."""
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text(encoding="ascii").strip()
    key = secrets.token_urlsafe(64)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(key)
    return key


SECRET_KEY = env.str("SECRET_KEY", "") or embedded_secret_key(VAR_DIR / "secret_key")
DEBUG = env.bool("DEBUG", False)
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
# Where others reach this service: the base of every URI that leaves it (problem types, issuer, calendars).
# Empty: each answer takes the address that it was asked at.
PUBLIC_URL = env.str("PUBLIC_URL", "").rstrip("/")
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL] if PUBLIC_URL else []
MAX_BODY_BYTES = env.int("MAX_BODY_BYTES", 1_048_576)

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "django_filters",
    "corsheaders",
    "oauth2_provider",
    "species",
    "api.web",
    "api.tenancy",
    "api.jobs",
    "api.outbox",
    "api.networks",
    "api.catalog",
    "api.kitchen",
    "api.birds",
    "api.growth",
    "api.plans",
    "api.alerts",
    "api.reports",
    "api.config",
]

MIDDLEWARE = [
    "api.web.request_ids.RequestIdMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "corsheaders.middleware.CorsMiddleware",
    "api.web.throttles.RateLimitMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "api.config.urls"
WSGI_APPLICATION = "api.config.wsgi.application"
ASGI_APPLICATION = "api.config.asgi.application"
# A path has one spelling. With a slash too many the answer is a 404 that names the right one.
APPEND_SLASH = False

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

# --- rows

DATABASES = {"default": env.db_url("DATABASE_URL", default=f"sqlite:///{VAR_DIR / 'handrear.sqlite3'}")}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # One writer at a time: a transaction takes its lock when it begins and waits for its turn, instead of
    # failing half-way through when it turns from reading to writing.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL;",
    }
else:
    DATABASES["default"].setdefault("CONN_MAX_AGE", 60)
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- cache, jobs, e-mail

REDIS_URL = env.str("REDIS_URL", "")
# Two installations may share a Redis; this keeps them apart.
KEY_PREFIX = env.str("HANDREAR_KEY_PREFIX", "handrear")
if REDIS_URL:
    CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": REDIS_URL,
            "KEY_PREFIX": KEY_PREFIX,
        }
    }
else:
    CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
            "LOCATION": "handrear",
            "KEY_PREFIX": KEY_PREFIX,
        }
    }

CELERY_BROKER_URL = REDIS_URL or "memory://"
CELERY_TASK_ALWAYS_EAGER = not REDIS_URL
CELERY_TASK_EAGER_PROPAGATES = True
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "global_keyprefix": f"{KEY_PREFIX}:",
    # A request that has committed waits no longer than this for a broker that is away: the dispatcher has its work.
    "socket_connect_timeout": 2,
    "socket_timeout": 5,
    # A message that its worker never acknowledged is handed out again. Longer than any task takes; the row's lease
    # brings lost work back sooner, so this only tidies up.
    "visibility_timeout": 3600,
}
# Once more, for a connection that went stale in the pool.
CELERY_TASK_PUBLISH_RETRY_POLICY = {"max_retries": 1, "interval_start": 0, "interval_step": 0, "interval_max": 0}
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# A worker outlives a broker that is away for long.
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
# What came of a task stands in its row.
CELERY_TASK_IGNORE_RESULT = True
CELERY_TIMEZONE = "UTC"
# Two lanes, of which each worker takes in turn: alerts do not wait behind a morning's reports.
CELERY_TASK_DEFAULT_QUEUE = "prompt"
CELERY_TASK_QUEUES = {"prompt": {}, "slow": {}}
# A message counts as dealt with when its work is, not when a worker has read it: a killed worker's comes back.
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
# No worker keeps messages in hand that another could begin with.
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
# Work that hangs fails like any other, and is tried again; what does not even hear that is ended.
CELERY_TASK_SOFT_TIME_LIMIT = 240
CELERY_TASK_TIME_LIMIT = 300
# Drawing pictures grows a process a little each time; a new one begins small.
CELERY_WORKER_MAX_TASKS_PER_CHILD = 500
#: Seconds between two turns of the dispatcher, which makes due jobs and sweeps up lost work.
DISPATCH_EVERY_S = env.float("DISPATCH_EVERY_S", 20.0)
CELERY_BEAT_SCHEDULE = {
    # A turn that nobody took is replaced by the next one: they do not pile up while no worker runs.
    "dispatch": {"task": "jobs.dispatch", "schedule": DISPATCH_EVERY_S, "options": {"expires": DISPATCH_EVERY_S}}
}
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR_DIR / "beat-schedule")
#: Seconds after which work whose worker has not come back is taken up by another.
WORK_LEASE_S = env.int("WORK_LEASE_S", 300)
#: Days for which the feed of changes goes back.
CHANGES_KEPT_DAYS = env.int("CHANGES_KEPT_DAYS", 90)

if env.str("EMAIL_URL", ""):
    vars().update(env.email_url("EMAIL_URL"))
else:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = VAR_DIR / "mail"
# A mail server that does not answer holds nobody up for good.
EMAIL_TIMEOUT = 30
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL", "handrear@localhost")

# --- words, zones, files

LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "/static/"
# Served straight from the packages, so that the embedded default needs no collecting step.
WHITENOISE_USE_FINDERS = True

# --- people and apps

AUTH_USER_MODEL = "tenancy.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "/sign-in"

OAUTH2_PROVIDER_APPLICATION_MODEL = "tenancy.ApiClient"
OAUTH2_PROVIDER_ACCESS_TOKEN_MODEL = "tenancy.AccessToken"  # noqa: S105 - names a model
OAUTH2_PROVIDER_REFRESH_TOKEN_MODEL = "tenancy.RefreshToken"  # noqa: S105 - names a model
OAUTH2_PROVIDER_GRANT_MODEL = "tenancy.Grant"
OAUTH2_PROVIDER_ID_TOKEN_MODEL = "tenancy.IDToken"  # noqa: S105 - names a model
OAUTH2_PROVIDER = {
    "SCOPES_BACKEND_CLASS": "api.tenancy.scopes.ClientScopes",
    "OAUTH2_VALIDATOR_CLASS": "api.tenancy.oauth.NetworkBoundValidator",
    "ACCESS_TOKEN_EXPIRE_SECONDS": 3600,
    "REFRESH_TOKEN_EXPIRE_SECONDS": 90 * 24 * 3600,
    "REFRESH_TOKEN_REUSE_PROTECTION": True,
    # https only; an installed app's loopback or own scheme is let in by the client's row (RFC 8252).
    "ALLOWED_REDIRECT_URI_SCHEMES": ["https"],
    "PKCE_REQUIRED": True,
    "OIDC_ISS_ENDPOINT": PUBLIC_URL,
    "OAUTH2_PROTECTED_RESOURCE_IDENTIFIER": PUBLIC_URL,
    "OAUTH2_PROTECTED_RESOURCE_NAME": "Handrear",
    "OAUTH2_GRANT_TYPES_SUPPORTED": ["authorization_code", "client_credentials", "refresh_token"],
    "OAUTH2_RESPONSE_TYPES_SUPPORTED": ["code"],
    # Every gate of RFC 9700: no implicit and no password grant, PKCE by S256, no token in a query string,
    # the issuer in the answer, and of a token only its hash in the database.
    "COMPLIANT_BCP_RFC9700_IMPLICIT_GRANT": True,
    "COMPLIANT_BCP_RFC9700_PASSWORD_GRANT": True,
    "COMPLIANT_BCP_RFC9700_PKCE_METHOD": True,
    "COMPLIANT_BCP_RFC9700_ACCESS_TOKEN_TRANSPORT": True,
    "COMPLIANT_BCP_RFC9700_AUTHZ_RESPONSE_ISS": True,
    "COMPLIANT_BCP_RFC9700_TOKEN_STORAGE": True,
    "COMPLIANT_BCP_RFC9700_REFRESH_TOKEN": True,
    "COMPLIANT_BCP_RFC9700_REDIRECT_URI_SCHEME": True,
    "COMPLIANT_BCP_RFC9700_REDIRECT_URI_MATCHING": True,
    "COMPLIANT_BCP_RFC9700_PKCE_REQUIRED": True,
}

# --- the API

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["api.tenancy.authentication.BearerAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["api.tenancy.permissions.HasScopes"],
    "DEFAULT_THROTTLE_CLASSES": ["api.web.throttles.ScopedThrottle"],
    "DEFAULT_PARSER_CLASSES": ["api.web.strict.StrictJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "api.web.schema.RoomSchema",
    "DEFAULT_METADATA_CLASS": None,
    "EXCEPTION_HANDLER": "api.web.problem.exception_handler",
    "COERCE_DECIMAL_TO_STRING": False,
    "URL_FORMAT_OVERRIDE": None,
    # How many proxies stand before the service: only as many entries of X-Forwarded-For are believed.
    "NUM_PROXIES": env.int("TRUSTED_PROXIES", 0),
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}


def rate(name: str, default: str) -> tuple[int, int]:
    """Requests and seconds, written 240/60; 0/60 sets no limit."""
    quota, seconds = env.str(name, default).split("/")
    return int(quota), int(seconds)


RATE_LIMITS = {
    "open": rate("RATE_OPEN", "240/60"),
    "compute": rate("RATE_COMPUTE", "120/60"),
    "read": rate("RATE_READ", "600/60"),
    "write": rate("RATE_WRITE", "300/60"),
    "token": rate("RATE_TOKEN", "30/60"),
    "sign_in": rate("RATE_SIGN_IN", "20/600"),
}

# Browsers may call from anywhere: access goes by tokens, which a page has to hold, never by cookies.
CORS_ALLOW_ALL_ORIGINS = True
CORS_ALLOW_CREDENTIALS = False
CORS_URLS_REGEX = r"^/(api/|oauth/(token|revoke)$|\.well-known/)"
CORS_ALLOW_HEADERS = [
    "accept",
    "authorization",
    "content-type",
    "idempotency-key",
    "if-match",
    "if-none-match",
    "x-request-id",
]
CORS_EXPOSE_HEADERS = [
    "ETag",
    "Idempotency-Replayed",
    "Link",
    "Location",
    "RateLimit",
    "RateLimit-Policy",
    "Retry-After",
    "X-Request-Id",
]

SPECTACULAR_SETTINGS = {
    "TITLE": "Handrear",
    "VERSION": "1",
    "DESCRIPTION": (
        "Feeding plans, mixes and growth checks for birds raised by hand. Units stand in the names of fields and "
        "in x-ucum; refusals are RFC 9457 problems. A plan never replaces a licensed avian vet."
    ),
    "LICENSE": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
    "OAS_VERSION": "3.1.0",
    "COMPONENT_SPLIT_REQUEST": True,
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "ENUM_NAME_OVERRIDES": enum_names.NAMES,
    "TAGS": [
        {"name": "plans", "description": "Feeding plans and mixes: computed, not stored."},
        {"name": "growth", "description": "How a bird grows, from its weighings: computed, not stored."},
        {"name": "catalog", "description": "What is known of species, each value with its source."},
        {"name": "birds", "description": "Birds in care, and what was measured of them and done for them."},
        {"name": "kitchen", "description": "The network's powders, and what a site mixes with."},
        {"name": "alerts", "description": "Findings that ask for somebody, until somebody has looked."},
        {"name": "reports", "description": "The network's daily report, as it was sent."},
        {"name": "outbox", "description": "The feed of changes, for apps that keep a copy."},
        {"name": "networks", "description": "Who belongs to the network of the token, and its sites."},
        {"name": "web", "description": "The service itself: whether it runs, and what its refusals mean."},
    ],
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "api.web.schema.add_problems",
        "api.web.schema.add_units",
        "api.web.examples.add_examples",
    ],
    "OAUTH2_FLOWS": ["authorizationCode", "clientCredentials"],
    "OAUTH2_AUTHORIZATION_URL": "/oauth/authorize",
    "OAUTH2_TOKEN_URL": "/oauth/token",
    "OAUTH2_REFRESH_URL": "/oauth/token",
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"request_id": {"()": "api.web.request_ids.RequestIdFilter"}},
    "formatters": {"line": {"format": "{asctime} {levelname} {name} [{request_id}] {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "filters": ["request_id"], "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", "INFO")},
    "loggers": {
        "django": {"handlers": [], "level": "INFO", "propagate": True},
        # A refused request is the caller's affair and stands in the access log.
        "django.request": {"level": "ERROR"},
        # Every piece of work would say twice that it went well; what goes wrong is told by jobs.
        "celery.app.trace": {"level": "WARNING"},
    },
}
