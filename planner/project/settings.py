"""All settings. With no environment at all: SQLite, Celery over files in var/, local-memory cache, development mode.

The README's table lists every variable read here (tests compare the two).
"""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import dj_database_url

from planner.project.env import BadSetting, env_bool, env_int, env_list, env_text

BASE_DIR = Path(__file__).resolve().parents[2]
VAR_DIR = Path(env_text("LULL_VAR_DIR", str(BASE_DIR / "var")))
VAR_DIR.mkdir(parents=True, exist_ok=True)

PRODUCTION = env_bool("LULL_PRODUCTION", False)
DEBUG = env_bool("LULL_DEBUG", False)
SECRET_KEY = env_text("LULL_SECRET_KEY", "" if PRODUCTION else "only-for-this-machine-" + "0" * 40)
ALLOWED_HOSTS = env_list("LULL_ALLOWED_HOSTS") or ([] if PRODUCTION else ["localhost", "127.0.0.1", "[::1]", "testserver"])
CSRF_TRUSTED_ORIGINS = env_list("LULL_TRUSTED_ORIGINS")
if PRODUCTION and not SECRET_KEY:
    raise BadSetting("LULL_SECRET_KEY is empty: production needs a secret key of its own (50 random characters)")
if PRODUCTION and not ALLOWED_HOSTS:
    raise BadSetting("LULL_ALLOWED_HOSTS is empty: name the hosts that production answers to, separated by commas")

INSTALLED_APPS = [
    "planner",  # before the admin, so that its base template is ours
    "planner.project.apps.LullAdminConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "rest_framework.authtoken",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "simple_history",
    "django_htmx",
    "workorders",
    "scheduling",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "planner.project.urls"
WSGI_APPLICATION = "planner.project.wsgi.application"
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
    }
]

DATABASES = {
    "default": dj_database_url.config(default=f"sqlite:///{VAR_DIR / 'lull.sqlite3'}", conn_max_age=60, conn_health_checks=True)
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A second process (the worker) writes too: take the write lock at once and wait for it, or "database is locked".
    DATABASES["default"]["CONN_MAX_AGE"] = 0
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]
LOGIN_URL = "/login/"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "/login/"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = env_bool("LULL_HTTPS", PRODUCTION)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env_bool("LULL_BEHIND_PROXY", False) else None
SECURE_CONTENT_TYPE_NOSNIFF = True
X_FRAME_OPTIONS = "DENY"

LANGUAGE_CODE = "en"
TIME_ZONE = "UTC"
USE_I18N = False
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = BASE_DIR / "static-collected"
if not PRODUCTION:
    STATIC_ROOT.mkdir(exist_ok=True)  # WhiteNoise warns when it is missing, and there is nothing to collect here
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if PRODUCTION
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = not PRODUCTION
MEDIA_ROOT = VAR_DIR / "media"
DATA_UPLOAD_MAX_MEMORY_SIZE = 30 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

REDIS_URL = env_text("REDIS_URL")
CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": REDIS_URL}
    if REDIS_URL
    else {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
}

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_PAGINATION_CLASS": "planner.rest.paging.StablePages",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_RENDERER_CLASSES": ["planner.rest.render.SafeJson"],
    "EXCEPTION_HANDLER": "planner.rest.errors.one_shape",
    "PAGE_SIZE": 50,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Lull",
    "DESCRIPTION": "Plans the maintenance of a wind farm around the wind. Lull plans; it never authorises.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "SCHEMA_PATH_PREFIX": "/api/v1/",
    # Names of the choice sets, where several tables call different sets by the same field.
    "ENUM_NAME_OVERRIDES": {
        "DueState": "planner.due.STATES",
        "OrderState": "workorders.choices.State",
        "RunState": "scheduling.choices.RunState",
        "FleetState": "scheduling.choices.FleetState",
        "PlanState": "scheduling.choices.PlanState",
        "WhatIfState": "scheduling.choices.WhatIfState",
        "WorkKind": "planner.choices.WorkKind",
        "StepKind": "planner.choices.StepKind",
        "EquipmentKind": "planner.choices.EquipmentKind",
        "ClosureKind": "planner.choices.ClosureKind",
        "HoldKind": "workorders.choices.HoldKind",
        "RunKind": "scheduling.choices.RunKind",
        "QuestionKind": "scheduling.choices.QuestionKind",
        "QuestionState": "scheduling.choices.QuestionState",
        "SeriesKind": "scheduling.choices.SeriesKind",
        "LockKind": "scheduling.choices.LockKind",
    },
}

# The order that keeps a solve from being started twice: solver limit < soft limit < hard limit < redelivery.
SOLVE_LIMIT_S = env_int("LULL_SOLVE_LIMIT_S", 60, least=1)
SOLVE_THREADS = env_int("LULL_SOLVE_THREADS", 2, least=1)
# A run whose worker has not written for this long is taken up again, at most RUN_TRIES tries in all.
QUESTION_LIMIT_S = env_int("LULL_QUESTION_LIMIT_S", 120, least=1)
RUN_LOST_AFTER_S = env_int("LULL_RUN_LOST_AFTER_S", 60, least=3)
RUN_TRIES = 2
WORKERS = env_int("LULL_WORKERS", 1, least=1)
CELERY_TASK_SOFT_TIME_LIMIT = env_int("LULL_TASK_SOFT_LIMIT_S", 1800, least=1)
CELERY_TASK_TIME_LIMIT = env_int("LULL_TASK_HARD_LIMIT_S", CELERY_TASK_SOFT_TIME_LIMIT + 120, least=1)
CELERY_BROKER_URL = REDIS_URL or "filesystem://localhost"
CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, object] = {
    "visibility_timeout": env_int("LULL_REDELIVER_AFTER_S", CELERY_TASK_TIME_LIMIT + 1800, least=1)
}
if not REDIS_URL:
    QUEUE_DIR = VAR_DIR / "queue"
    QUEUE_DIR.mkdir(parents=True, exist_ok=True)
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(QUEUE_DIR),
        "data_folder_out": str(QUEUE_DIR),
        "control_folder": str(VAR_DIR / "control"),
        "polling_interval": 0.2,
    }
CELERY_TASK_IGNORE_RESULT = True
# Taken is acknowledged: a run whose worker died is found by its row (runs_recover), on every broker alike.
CELERY_TASK_ACKS_LATE = False
# Processes, not threads: only a process can be ended from outside when a solver overlooks the clock.
CELERY_WORKER_POOL = "prefork"
CELERY_WORKER_CONCURRENCY = WORKERS
# On the queue in files a worker whose processes are all busy would else wait inside and answer nobody.
CELERY_WORKER_POOL_PUTLOCKS = False
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_MAX_TASKS_PER_CHILD = 200
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TIMEZONE = "UTC"
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR_DIR / "beat")
# Intervals, not wall-clock times: a clock change then neither skips nor doubles a sweep. Each sweep expires before the next,
# so that a worker that was busy or away does not find a heap of them.
RECOVER_EVERY_S = env_int("LULL_RECOVER_EVERY_S", 20, least=1)
CELERY_BEAT_SCHEDULE = {
    "take up lost runs": {
        "task": "scheduling.tasks.runs_recover",
        "schedule": timedelta(seconds=RECOVER_EVERY_S),
        "options": {"expires": RECOVER_EVERY_S},
    },
    "take up lost questions": {
        "task": "scheduling.tasks.questions_recover",
        "schedule": timedelta(seconds=RECOVER_EVERY_S),
        "options": {"expires": RECOVER_EVERY_S},
    },
    "raise orders from due work": {
        "task": "workorders.tasks.orders_raise",
        "schedule": timedelta(hours=1),
        "options": {"expires": 3600},
    },
    "remember and score calls": {
        "task": "scheduling.tasks.stay_calls_sweep",
        "schedule": timedelta(hours=1),
        "options": {"expires": 3600},
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": env_text("LULL_LOG_LEVEL", "WARNING")},
}
