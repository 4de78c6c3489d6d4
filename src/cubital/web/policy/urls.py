"""Addresses of the page *Policy*."""

from __future__ import annotations

from django.urls import path

from cubital.web.policy import views

urlpatterns = [
    path("", views.show_policy, name="policy"),
    path("/edit", views.edit_policy, name="policy-edit"),
    path("/approve/<int:version>", views.approve, name="policy-approve"),
    path("/compare", views.compare, name="policy-compare"),
]
