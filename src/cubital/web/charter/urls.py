"""Addresses of the page *Charter*."""

from __future__ import annotations

from django.urls import path

from cubital.web.charter import reconcile_views, sign_views, views

urlpatterns = [
    path("", views.show_charter, name="charter"),
    path("/moves", views.show_moves, name="charter-moves"),
    path("/reconcile", reconcile_views.reconcile_list, name="charter-reconcile"),
    path("/edit", sign_views.edit_charter, name="charter-edit"),
    path("/<int:version>", sign_views.sign, name="charter-sign"),
    path("/<int:version>/paper.pdf", sign_views.charter_paper, name="charter-paper"),
]
