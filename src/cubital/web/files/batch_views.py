"""What came in before: the list of batches, the account of one, and the fate of every row to take away."""

from __future__ import annotations

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.web.files.account import months_beside
from cubital.workspace.batches import get_batch
from cubital.workspace.places import list_places


@require_GET
def show_batch(request: HttpRequest, number: int) -> HttpResponse:
    """Rows in, sets out, every loss and doubt with its reason, and the months beside each other."""
    workspace = the_workspace()
    batch = get_batch(workspace, number)
    context = {"batch": batch, "beside": months_beside(batch, list_places(workspace))}
    return render(request, "files/batch.html", context)


@require_GET
def download_fates(request: HttpRequest, number: int) -> FileResponse:  # noqa: ARG001 -- every view takes the request
    """Every row of the file with what became of it, as a spreadsheet."""
    from cubital.workspace.exports import export_fates

    workspace = the_workspace()
    return send_made_file(f"batch-{number}-rows.xlsx", lambda out: export_fates(workspace, batch=number, out=out))
