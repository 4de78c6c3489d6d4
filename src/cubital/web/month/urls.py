"""Addresses of the page *This month*."""

from __future__ import annotations

from django.urls import path

from cubital.web.month import take_along, views

urlpatterns = [
    path("", views.show_month, name="month"),
    path("/sets", take_along.every_set, name="month-sets"),
    path("/paper.pdf", take_along.paper, name="month-paper"),
    path("/counts.xlsx", take_along.counts, name="month-counts"),
    path("/spike.pdf", take_along.spike, name="month-spike"),
    path("/frozen.zip", take_along.frozen, name="month-frozen"),
    path("/sets.xlsx", take_along.spreadsheet, name="month-spreadsheet"),
]
