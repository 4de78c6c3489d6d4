"""Addresses of the pages behind the month's sentence."""

from __future__ import annotations

from django.urls import path

from cubital.web.signal import views

urlpatterns = [
    path("/sure", views.show_question, name="month-sure"),
    path("/baseline", views.baseline, name="month-baseline"),
]
