"""Django as Cubital uses it: records on SQLite inside each workspace folder, pages on this computer only.

No database stands here: every workspace folder brings its own, registered when the folder is opened. A query that
forgets to say which workspace it means therefore fails at once instead of reaching the wrong one.
"""

from __future__ import annotations

import secrets
from typing import Any

# Signs one-time links and form tokens for as long as this process runs; nothing on disk depends on it.
SECRET_KEY = secrets.token_urlsafe(50)
DEBUG = False
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]", "testserver"]

INSTALLED_APPS = [
    "cubital.workspace.apps.RecordsConfig",
    "django.contrib.staticfiles",
    "django_htmx",
    "cubital.web",
]
DATABASES: dict[str, Any] = {}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = True
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]

# What the pages need, by name only: this floor imports nothing from the one above.
ROOT_URLCONF = "cubital.web.urls"
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]
TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {"context_processors": ["django.template.context_processors.request"]},
    }
]
STATIC_URL = "/static/"
SESSION_ENGINE = "django.contrib.sessions.backends.signed_cookies"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Strict"
CSRF_COOKIE_SAMESITE = "Strict"
X_FRAME_OPTIONS = "DENY"
