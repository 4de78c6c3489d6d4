"""Addresses of the slice *Supply*."""

from __future__ import annotations

from django.urls import path

from cubital.web.supply import views

urlpatterns = [
    path("/stock", views.stock, name="stock"),
    path("/stock/card.pdf", views.card, name="stock-card"),
    path("/coverage", views.coverage, name="coverage"),
]
