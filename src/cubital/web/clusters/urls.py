"""Addresses of the cluster slice."""

from __future__ import annotations

from django.urls import path

from cubital.web.clusters.views import clusters, take_lot_list

urlpatterns = [
    path("", clusters, name="clusters"),
    path("/lots", take_lot_list, name="clusters-lots"),
]
