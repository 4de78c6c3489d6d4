"""What an accession number names: the set, one bottle of it, or an order of several sets.

Some laboratories number each bottle, some call the pair of sets one culture. The file shows which; what is shown
without a rival is proposed, the rest is asked once per source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.domain.errors import Question
from cubital.domain.words import _
from cubital.engine import Session, load_sql
from cubital.intake.parsing import FieldMap
from cubital.intake.roles import Role

KEY = "accession_names"
# Of all numbers, this share must pair up as bottles (or hold several draws) to be proposed, and this one to be asked.
SURE_SHARE, ASKED_SHARE = 0.8, 0.3


class AccessionNames(StrEnum):
    SET = "set"
    BOTTLE = "bottle"
    ORDER = "order"


@dataclass(frozen=True, kw_only=True)
class AccessionMeaning:
    """What the number names, and the questions and notes that follow from it."""

    names: AccessionNames = AccessionNames.SET
    questions: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()


def study_accessions(
    session: Session, fields: FieldMap, sample: Sequence[Mapping[str, str]], *, answers: Mapping[str, str], accept: bool
) -> AccessionMeaning:
    """Decides what the accession number names.

    ``sample`` holds the first rows by role; the whole table ``staged`` is searched only where the sample is suspicious.
    """
    if answers.get(KEY) in AccessionNames._value2member_map_:
        return AccessionMeaning(names=AccessionNames(answers[KEY]))
    needed = (Role.ACCESSION, Role.PATIENT, Role.BOTTLE, Role.COLLECTED)
    if not all(fields.has(role) for role in needed):
        return AccessionMeaning()
    if _one_bottle_each(sample):
        return _judge(session, AccessionNames.BOTTLE, accept)
    if _several_draws_each(sample):
        return _judge(session, AccessionNames.ORDER, accept)
    return AccessionMeaning()


def _one_bottle_each(sample: Sequence[Mapping[str, str]]) -> bool:
    numbers = [row["accession"] for row in sample]
    return len(numbers) > 3 and len(set(numbers)) == len(numbers) and len({row["bottle"] for row in sample}) > 1


def _several_draws_each(sample: Sequence[Mapping[str, str]]) -> bool:
    seen: dict[tuple[str, str, str, str], set[str]] = {}
    for row in sample:
        key = (row["accession"], row["patient"], row["bottle"], row.get("status", ""))
        seen.setdefault(key, set()).add(row["collected"])
    return any(len(times) > 1 for times in seen.values())


def _judge(session: Session, names: AccessionNames, accept: bool) -> AccessionMeaning:
    (share,) = session.one(load_sql("cubital.intake", f"accessions_of_{names.value}s"))
    if share is None or share < ASKED_SHARE:
        return AccessionMeaning()
    if share >= SURE_SHARE and accept:
        return AccessionMeaning(names=names, notes=(_note(names),))
    choices = (AccessionNames.SET.value, names.value)
    return AccessionMeaning(questions=(Question(KEY, _("What does one accession number name?"), choices),))


def _note(names: AccessionNames) -> str:
    if names is AccessionNames.BOTTLE:
        return _(
            "Accession numbers name single bottles; those that differ in their ending only were joined to one set."
        )
    return _("Accession numbers name orders of several draws; each collection time was taken as a set of its own.")
