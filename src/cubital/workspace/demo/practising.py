"""The invented network as files to learn on: what a newcomer takes in without touching real data."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace.demo.files import WorldFile, WrittenWorld, write_world
from cubital.workspace.demo.messages import FOLDER
from cubital.workspace.demo.staff import StaffFile, write_staff_lists
from cubital.workspace.demo.world import DEFAULT_SEED, HOSPITALS

NOTE = "read-me-first.txt"


def write_practice_files(folder: Path, *, seed: int = DEFAULT_SEED) -> tuple[Path, ...]:
    """Writes the laboratories' files and a note into ``folder``, made if need be; gives back what was written.

    March lies in a folder of its own once more, as messages and exports of resources.
    A folder that holds anything already is refused with ``RequestProblem``: nothing is ever overwritten.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RequestProblem(
            _("there is something here already."), where=str(folder), fix=_("Name a new or an empty folder.")
        )
    folder.mkdir(parents=True, exist_ok=True)
    messages = folder / FOLDER
    messages.mkdir()
    world = write_world(folder, seed=seed, messages=messages)
    staff = write_staff_lists(folder, seed=seed)
    note = folder / NOTE
    note.write_text(_note(world, staff), encoding="utf-8")
    lists = (one.path for one in staff)
    return (note, *(file.path for file in world.files), *lists, *(file.path for file in world.messages))


def _note(world: WrittenWorld, staff: Sequence[StaffFile]) -> str:
    """What the files are and the commands that take them in, in order."""
    hospitals = ", ".join(hospital.full_name for hospital in HOSPITALS)
    lines = [
        _("Practice files. Everything in them is invented: {hospitals} do not exist.").format(hospitals=hospitals),
        _("Take them in one after the other:"),
        "",
        *(f"  cubital --workspace practice {command_for(file)}" for file in world.files),
        "",
        _("Then the staff lists, whose names are not kept; they find whose a set was, for the private page People:"),
        "",
        *(f'  cubital --workspace practice people roster {one.path.name} --facility "{one.facility}"' for one in staff),
        "",
        _("March once more, as HL7 messages, FHIR lines and a FHIR archive, instead of its tables:"),
        "",
        *(f"  cubital --workspace practice {command_for(file)}" for file in world.messages),
        "",
    ]
    return "\n".join(lines)


def command_for(file: WorldFile) -> str:
    """The command that takes this file in, typed in the folder of the note."""
    name = f"{FOLDER}/{file.path.name}" if file.path.parent.name == FOLDER else file.path.name
    if file.kind == "movements":
        return f'movements {name} --facility "{file.facility}" --yes'
    return f'take {name} --facility "{file.facility}" --timezone {file.timezone} --yes'
