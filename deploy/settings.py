"""Settings of one installation, read from the environment.

Everything that differs between machines is an environment variable; what is not set falls back to
the private development cluster and folders under `var/`. Nothing secret stands in this file.
"""

import os
from pathlib import Path
from typing import Any

import dj_database_url

# Matrices here are small: threads within one product would only fight over the cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

ROOT = Path(__file__).resolve().parent.parent
VAR = ROOT / "var"


def flag(name: str, default: bool) -> bool:
    """Read a yes/no environment variable."""
    return os.environ.get(name, str(default)).strip().lower() in {"1", "true", "yes", "on"}


def secret_key() -> str:
    """The signing key: from the environment, or from the file that `deploy/start` writes."""
    if key := os.environ.get("SECRET_KEY"):
        return key
    kept = VAR / "secret-key"
    return kept.read_text().strip() if kept.exists() else "only-for-tests-and-first-set-up"


PRODUCTION = flag("PRODUCTION", False)
DEBUG = flag("DEBUG", False)
SECRET_KEY = secret_key()
ALLOWED_HOSTS = os.environ.get("ALLOWED_HOSTS", "127.0.0.1,localhost,[::1],testserver").split(",")
CSRF_TRUSTED_ORIGINS = [o for o in os.environ.get("TRUSTED_ORIGINS", "").split(",") if o]
if PRODUCTION and not os.environ.get("SECRET_KEY"):
    raise RuntimeError("PRODUCTION is set: give SECRET_KEY a long random value of your own.")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.postgres",
    "django.contrib.gis",
    "django.contrib.humanize",
    "pgtrigger",
    "pghistory",
    "procrastinate.contrib.django",
    "rest_framework",
    "rest_framework.authtoken",
    "rest_framework_gis",
    "django_filters",
    "django_tables2",
    "drf_spectacular",
    "records",
    "analyses",
    "reports",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "deploy.policy.content_security_policy",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"

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
            ],
        },
    }
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"
INSTALLED_APPS.append("django.forms")

# The private cluster of deploy/database listens on a socket only; no password exists.
DATABASES = {
    "default": dj_database_url.parse(
        os.environ.get("DATABASE_URL", f"postgis://antequem@/antequem?host={VAR / 'run'}"),
        engine="django.contrib.gis.db.backends.postgis",
        conn_max_age=60,
        conn_health_checks=True,
    )
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "records.User"
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "desk"
LOGOUT_REDIRECT_URL = "login"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

# GDAL older than 3.9 may fetch what a spatial reference points to; no geometry here has one.
SILENCED_SYSTEM_CHECKS = ["gis.W001"]

LANGUAGE_CODE = "en-gb"
TIME_ZONE = os.environ.get("TIME_ZONE", "UTC")
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = VAR / "static"
MEDIA_URL = "/media/"
MEDIA_ROOT = Path(os.environ.get("MEDIA_ROOT", VAR / "media"))
# nginx serves protected files itself when it is named here (X-Accel-Redirect); else Django does.
PROTECTED_MEDIA_PREFIX = os.environ.get("PROTECTED_MEDIA_PREFIX", "")
# Image files laid here (by a scanner, over the network) can be taken in by page or command.
INGEST_ROOT = Path(os.environ.get("INGEST_ROOT", VAR / "ingest"))
# Larger images are refused: what is unpacked costs disk and hours, whatever the file weighs.
MOST_IMAGE_PIXELS = int(os.environ.get("MOST_IMAGE_PIXELS", 4_000_000_000))
MOST_UPLOAD_BYTES = int(os.environ.get("MOST_UPLOAD_BYTES", 64 * 1024**3))

STORAGES: dict[str, dict[str, Any]] = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
if bucket := os.environ.get("S3_BUCKET"):
    STORAGES["default"] = {
        "BACKEND": "storages.backends.s3.S3Storage",
        "OPTIONS": {
            "bucket_name": bucket,
            "endpoint_url": os.environ.get("S3_ENDPOINT") or None,
            "region_name": os.environ.get("S3_REGION") or None,
            "default_acl": None,
            "querystring_auth": True,
            "file_overwrite": False,
        },
    }
if not PRODUCTION:
    STORAGES["staticfiles"] = {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage",
    }
    WHITENOISE_USE_FINDERS = True

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["records.api.permissions.ByRole"],
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_PAGINATION_CLASS": "records.api.pagination.Pages",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Antequem",
    "DESCRIPTION": "Conservation records in face millimetres and dated history, as (Geo)JSON.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
}

# Every version of every record is kept by database triggers, and kept versions cannot be changed.
PGHISTORY_APPEND_ONLY = True
PGHISTORY_INSTALL_CONTEXT_FUNC_ON_MIGRATE = True

DJANGO_TABLES2_TEMPLATE = "records/parts/table.html"

PROCRASTINATE_ON_APP_READY = None

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": os.environ.get("LOG_LEVEL", "WARNING")},
    # Font subsetting reports every table it touches.
    "loggers": {"fontTools": {"level": "ERROR"}, "weasyprint": {"level": "ERROR"}},
}

SESSION_COOKIE_HTTPONLY = True
SECURE_CONTENT_TYPE_NOSNIFF = True
X_FRAME_OPTIONS = "DENY"
if PRODUCTION:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
    SECURE_SSL_REDIRECT = flag("SSL_REDIRECT", True)
    SECURE_HSTS_SECONDS = int(os.environ.get("HSTS_SECONDS", "3600"))

DATA_UPLOAD_MAX_MEMORY_SIZE = 50 * 1024 * 1024
