"""Addresses of the papers."""

from __future__ import annotations

from django.urls import path

from cubital.web.papers.action_views import action, actions, add_step
from cubital.web.papers.views import minute, pack, packs, papers, print_kept

urlpatterns = [
    path("", papers, name="papers"),
    path("/pack", packs, name="pack"),
    path("/pack/<int:number>", pack, name="pack-kept"),
    path("/pack/<int:number>/pdf", print_kept, name="pack-print"),
    path("/pack/<int:number>/minute", minute, name="pack-minute"),
    path("/actions", actions, name="actions"),
    path("/actions/<int:number>", action, name="action"),
    path("/actions/<int:number>/step", add_step, name="action-step"),
]
