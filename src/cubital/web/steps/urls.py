"""Addresses of the slice for steps, comparisons and hours."""

from __future__ import annotations

from django.urls import path

from cubital.web.steps.fair_views import compare, hours
from cubital.web.steps.views import steps

urlpatterns = [
    path("", steps, name="steps"),
    path("/compare", compare, name="compare"),
    path("/hours", hours, name="hours"),
]
