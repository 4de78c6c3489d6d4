"""Addresses of the page *Bedside*. The card itself needs no session: it knows no patient and no workspace data."""

from __future__ import annotations

from django.urls import path

from cubital.web.bedside import policy_views, views, weigh_views

urlpatterns = [
    path("", views.show_bedside, name="bedside"),
    path("/card", views.show_card, name="bedside-card"),
    path("/card/file", views.take_card, name="bedside-card-file"),
    path("/paper/<str:kind>/<str:paper>", views.take_paper, name="bedside-paper"),
    path("/label", views.show_label, name="bedside-label"),
    path("/label/sheet", views.take_label_sheet, name="bedside-label-sheet"),
    path("/weigh", weigh_views.weigh, name="bedside-weigh"),
    path("/policy/file", policy_views.take_policy_file, name="bedside-policy-file"),
    path("/policy/new", policy_views.bring_policy, name="bedside-policy-new"),
    path("/policy/approve/<int:version>", policy_views.approve, name="bedside-policy-approve"),
]
