"""Addresses of the page *People*. A person stands in them by key, never by name."""

from __future__ import annotations

from django.urls import path

from cubital.web.people import one_person, views

urlpatterns = [
    path("", views.people, name="people"),
    path("/open", views.open_them, name="people-open"),
    path("/close", views.close_them, name="people-close"),
    path("/staff", views.take_staff_list, name="people-staff"),
    path("/<slug:key>", one_person.person, name="people-person"),
    path("/<slug:key>/letter.pdf", one_person.letter, name="people-letter"),
    path("/<slug:key>/correction.pdf", one_person.correction, name="people-correction"),
    path("/<slug:key>/dispute", one_person.dispute, name="people-dispute"),
    path("/<slug:key>/take-back", one_person.take_back, name="people-take-back"),
]
