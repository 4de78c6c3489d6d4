"""Addresses of the slice for receipts."""

from __future__ import annotations

from django.urls import path

from cubital.web.again.views import keep, show_again

urlpatterns = [
    path("", show_again, name="again"),
    path("/keep", keep, name="again-keep"),
]
