"""Addresses of the page *Files*."""

from __future__ import annotations

from django.urls import path

from cubital.web.files import arrival_views, batch_views, unit_views, views

urlpatterns = [
    path("", views.files, name="files"),
    path("/in/<str:key>", arrival_views.show_arrival, name="arrival"),
    path("/in/<str:key>/progress", arrival_views.show_progress, name="arrival-progress"),
    path("/in/<str:key>/answer", arrival_views.answer_arrival, name="arrival-answer"),
    path("/in/<str:key>/discard", arrival_views.discard_arrival, name="arrival-discard"),
    path("/units", unit_views.unit_names, name="units"),
    path("/batch/<int:number>", batch_views.show_batch, name="batch"),
    path("/batch/<int:number>/rows.xlsx", batch_views.download_fates, name="batch-rows"),
]
