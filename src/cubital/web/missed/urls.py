"""Addresses of the slice for what may be missed."""

from __future__ import annotations

from django.urls import path

from cubital.web.missed.views import drivers, missed

urlpatterns = [
    path("missed", missed, name="missed"),
    path("drivers", drivers, name="drivers"),
]
