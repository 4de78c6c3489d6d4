"""Addresses of the slice *Doubtful*."""

from __future__ import annotations

from django.urls import path

from cubital.web.doubtful import views

urlpatterns = [
    path("", views.doubtful, name="doubtful"),
    path("/decide", views.decide, name="doubtful-decide"),
    path("/withdraw", views.withdraw, name="doubtful-withdraw"),
    path("/list", views.take_list, name="doubtful-take"),
    path("/list.xlsx", views.save_list, name="doubtful-list"),
]
