"""Addresses of the slice *Look closer*."""

from __future__ import annotations

from django.urls import path

from cubital.web.look import views

urlpatterns = [
    path("", views.look_closer, name="look"),
    path("/sets", views.sets_of_place, name="look-sets"),
]
