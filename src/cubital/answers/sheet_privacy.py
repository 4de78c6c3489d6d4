"""What a sheet of a watched draw must not carry: the patient, and who collected. Such a column is refused, not read."""

from __future__ import annotations

import re
from collections.abc import Sequence

from cubital.domain.errors import FileProblem
from cubital.domain.words import _

_PEOPLE = frozenset(
    {
        "patient", "patient id", "patient no", "patient number", "patient name", "mrn", "record number", "chart number",
        "hospital number", "nhs number", "accession", "accession number", "name", "first name", "last name", "surname",
        "full name", "dob", "date of birth", "birth date", "collector", "collector name", "collector id",
        "collected by", "drawn by", "nurse", "nurse name", "phlebotomist", "staff id", "employee id", "badge",
        "initials", "paciente", "nombre", "apellido", "apellidos", "historia", "numero de historia", "nhc",
        "fecha de nacimiento", "extractor", "extraido por", "enfermera", "enfermero", "iniciales",
    }
)  # fmt: skip
_WORDS = re.compile(r"[\s/+&,;]+")
_NUMBER = re.compile(r"\d{5,}")
_LONG = re.compile(r"\d{6,}")
_LEAST = 2  # one cell that is no tick is a slip of the pen; two of them, and half of the column, are something else


def refuse_person_columns(headers: Sequence[str], *, taken: frozenset[int], where: str) -> None:
    """Refuses a heading that names a patient or a collector; ``taken`` are the places of the known columns."""
    for place, header in enumerate(headers):
        tidy = " ".join(header.casefold().replace("_", " ").replace(".", " ").split())
        if place not in taken and tidy in _PEOPLE:
            raise _person_refusal(header, where)


def refuse_foreign_cells(step: str, cells: Sequence[str], *, marks: frozenset[str], where: str) -> None:
    """Refuses a column of a step whose cells are no ticks: names, numbers of patients, remarks.

    ``marks`` are all words that a tick can be written as; both boxes ticked is still a tick.
    """
    filled = [cell for cell in cells if cell.strip()]
    foreign = [cell for cell in filled if not _is_mark(cell, marks)]
    if any(_NUMBER.search(cell) for cell in foreign):
        raise _person_refusal(step, where)
    if len(foreign) >= _LEAST and 2 * len(foreign) >= len(filled):
        raise FileProblem(
            _("column '{column}' holds words and not ticks; it may name a person.").format(column=step),
            where=where,
            fix=_("Leave the column out: remarks, patients and collectors are not read here."),
        )


def refuse_long_numbers(column: str, cells: Sequence[str], *, where: str) -> None:
    """Refuses a draw or sheet number as long as a patient's or a specimen's number."""
    if any(_LONG.search(cell) for cell in cells):
        raise _person_refusal(column, where)


def _is_mark(cell: str, marks: frozenset[str]) -> bool:
    tidy = " ".join(cell.casefold().split())
    return tidy in marks or all(part in marks for part in _WORDS.split(tidy) if part)


def _person_refusal(column: str, where: str) -> FileProblem:
    return FileProblem(
        _("column '{column}' looks like a name or a number of a patient or a collector.").format(column=column),
        where=where,
        fix=_("Leave the column out and number the draws 1, 2, 3: a sheet says what was done, not by whom or to whom."),
    )
