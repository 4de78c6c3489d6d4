"""Addresses of *Did it work?*"""

from __future__ import annotations

from django.urls import path

from cubital.web.did.views import attended, did, table

urlpatterns = [
    path("", did, name="did"),
    path("/table", table, name="did-table"),
    path("/attended", attended, name="did-attended"),
]
