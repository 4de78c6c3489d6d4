"""Django settings of the pages, put on top of those of the records by ``configuring``.

One person, one process, one computer: sessions live in memory, and the only cookie is the session's.
"""

from __future__ import annotations

from cubital.papers.fonts import FONT_FOLDER

ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
ROOT_URLCONF = "cubital.web.urls"
APPEND_SLASH = False

MIDDLEWARE = [
    "cubital.web.safety.SafetyMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "cubital.web.appearance.LanguageMiddleware",
    "cubital.web.door.DoorkeeperMiddleware",
    "cubital.web.uploading.SizeMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "cubital.web.trouble.TroubleMiddleware",
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["cubital.web.templatetags.page_words"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "cubital.web.appearance.page_context",
            ],
        },
    }
]

CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "cubital-pages"}}
SESSION_ENGINE = "django.contrib.sessions.backends.cache"
SESSION_COOKIE_NAME = "cubital_session"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Strict"
SESSION_COOKIE_AGE = 30 * 24 * 3600
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
CSRF_USE_SESSIONS = True
CSRF_FAILURE_VIEW = "cubital.web.trouble.form_expired"

STATIC_URL = "/static/"
STATICFILES_DIRS = [("fonts", FONT_FOLDER)]
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = False
WHITENOISE_MAX_AGE = 3600

# Every upload goes to disk, inside the workspace (the server names the folder), never to memory.
FILE_UPLOAD_HANDLERS = ["django.core.files.uploadhandler.TemporaryFileUploadHandler"]
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

USE_I18N = False
