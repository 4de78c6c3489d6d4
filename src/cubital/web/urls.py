"""Every address. Each slice keeps its own list."""

from __future__ import annotations

from django.urls import include, path

from cubital.web.month.views import resume

urlpatterns = [
    path("", resume, name="home"),
    path("", include("cubital.web.door")),
    path("", include("cubital.web.appearance")),
    path("month", include("cubital.web.month.urls")),
    path("month", include("cubital.web.signal.urls")),
    path("counts", include("cubital.web.counts.urls")),
    path("clusters", include("cubital.web.clusters.urls")),
    path("steps", include("cubital.web.steps.urls")),
    path("costs", include("cubital.web.costs.urls")),
    path("files", include("cubital.web.files.urls")),
    path("charter", include("cubital.web.charter.urls")),
    path("doubtful", include("cubital.web.doubtful.urls")),
    path("look-closer", include("cubital.web.look.urls")),
    path("again", include("cubital.web.again.urls")),
    path("diary", include("cubital.web.diary.urls")),
    path("did-it-work", include("cubital.web.did.urls")),
    path("did-it-work/trial", include("cubital.web.trial.urls")),
    path("people", include("cubital.web.people.urls")),
    path("policy", include("cubital.web.policy.urls")),
    path("costs/", include("cubital.web.missed.urls")),
    path("costs", include("cubital.web.supply.urls")),
    path("bedside", include("cubital.web.bedside.urls")),
    path("papers", include("cubital.web.papers.urls")),
]

handler400 = "cubital.web.trouble.bad_request"
handler404 = "cubital.web.trouble.page_not_found"
handler500 = "cubital.web.trouble.something_broke"
