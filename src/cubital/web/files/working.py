"""The work on an arrival: the look, which stores nothing, and the taking, which stores everything or nothing."""

from __future__ import annotations

from cubital.domain.words import _
from cubital.web.desk import the_workspace
from cubital.web.files.arrivals import CULTURES, MOVEMENTS, Arrival
from cubital.web.running import Progress, jobs
from cubital.web.uploading import discard_upload
from cubital.workspace.facilities import find_facility
from cubital.workspace.moving import MovementReport, take_movements
from cubital.workspace.previewing import MovementPreview, preview_movements
from cubital.workspace.taking import Preview, TakeReport, preview_file, take_file

QUICK_SECONDS = 0.4  # most files are read in less; their page then comes without a detour


def start_look(arrival: Arrival) -> None:
    """Begins to read the file without storing anything."""

    def look(report: Progress) -> Preview | MovementPreview:
        with the_workspace() as workspace:
            if arrival.kind == MOVEMENTS:
                return preview_movements(
                    workspace,
                    file=arrival.path,
                    facility=arrival.facility,
                    timezone=arrival.timezone,
                    source=arrival.source,
                    answers=arrival.answers,
                )
            return preview_file(
                workspace,
                file=arrival.path,
                facility=arrival.facility,
                timezone=arrival.timezone,
                source=arrival.source,
                answers=arrival.answers,
                progress=report,
            )

    arrival.looking = jobs.start(_("Looking at the file"), look)
    arrival.looking.wait(QUICK_SECONDS)


def start_taking(arrival: Arrival) -> None:
    """Begins to take the file in with what the person has settled."""

    def take(report: Progress) -> TakeReport | MovementReport:
        use = take_movements if arrival.kind == MOVEMENTS else take_file
        with the_workspace() as workspace:
            taken = use(
                workspace,
                file=arrival.path,
                facility=arrival.facility,
                timezone=arrival.timezone,
                source=arrival.source,
                accept=True,
                answers=arrival.answers,
                progress=report,
            )
        discard_upload(arrival.path)  # at once, and not only when someone comes back to look
        return taken

    arrival.taking = jobs.start(_("Taking the file in"), take)
    arrival.taking.wait(QUICK_SECONDS)


def source_name(arrival: Arrival) -> str:
    """The name under which what this kind of file taught is remembered."""
    known = find_facility(the_workspace(), arrival.facility)
    hospital = known.name if known else arrival.facility
    return arrival.source or (hospital if arrival.kind == CULTURES else f"{hospital}: {arrival.kind}")
