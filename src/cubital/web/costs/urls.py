"""Addresses of the slice for costs and plans. A new question is one line here and one in ``costs/others.html``."""

from __future__ import annotations

from django.urls import path

from cubital.web.costs.leaving_views import keep, leave
from cubital.web.costs.views import costs, each

urlpatterns = [
    path("", costs, name="costs"),
    path("/each", each, name="costs-each"),
    path("/leave", leave, name="costs-leave"),
    path("/keep", keep, name="costs-keep"),
]
