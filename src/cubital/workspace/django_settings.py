"""Django as the records need it. The pages put their own settings on top when they are served.

No database stands here: every workspace folder brings its own, registered when the folder is opened. A query that
forgets to say which workspace it means therefore fails at once instead of reaching the wrong one.
"""

from __future__ import annotations

import secrets
from typing import Any

# Signs form tokens for as long as this process runs; nothing on disk depends on it.
SECRET_KEY = secrets.token_urlsafe(50)
DEBUG = False
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]

# The pages are named, not imported: this floor knows nothing of the one above.
INSTALLED_APPS = [
    "cubital.workspace.apps.RecordsConfig",
    "django.contrib.staticfiles",
    "django_htmx",
    "cubital.web",
]
ROOT_URLCONF = "cubital.web.urls"

DATABASES: dict[str, Any] = {}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = False
