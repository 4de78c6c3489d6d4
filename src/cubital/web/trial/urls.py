"""Addresses of the trial planner, below *Did it work?*"""

from __future__ import annotations

from django.urls import path

from cubital.web.trial import running, views

urlpatterns = [
    path("", views.plan, name="trial"),
    path("/seal", views.seal, name="trial-seal"),
    path("/<int:number>", running.show, name="trial-one"),
    path("/<int:number>/look", running.look, name="trial-look"),
    path("/<int:number>/protocol.pdf", running.protocol, name="trial-paper"),
    path("/<int:number>/result.pdf", running.result, name="trial-result"),
]
