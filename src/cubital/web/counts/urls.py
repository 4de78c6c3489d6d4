"""Addresses of the counts-alone slice."""

from __future__ import annotations

from django.urls import path

from cubital.web.counts.views import counts_alone

urlpatterns = [path("", counts_alone, name="counts")]
