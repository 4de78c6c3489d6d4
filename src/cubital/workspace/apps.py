"""Makes the records of a workspace known to Django under the label ``records``."""

from __future__ import annotations

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    name = "cubital.workspace"
    label = "records"
    verbose_name = "Records of a workspace"
    default_auto_field = "django.db.models.BigAutoField"
