"""Addresses of the diary."""

from __future__ import annotations

from django.urls import path

from cubital.web.diary.table_views import keep_table, preview_table
from cubital.web.diary.views import correct, diary, entry, withdraw

urlpatterns = [
    path("", diary, name="diary"),
    path("/<int:number>", entry, name="diary-entry"),
    path("/<int:number>/correct", correct, name="diary-correct"),
    path("/<int:number>/withdraw", withdraw, name="diary-withdraw"),
    path("/table", preview_table, name="diary-table"),
    path("/table/keep", keep_table, name="diary-keep"),
]
