"""One entry of the diary before it is kept, and a hand-kept diary as rows: every trouble is said in words, at once."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cubital.answers.hand_tables import Columns, HandRow, hand_rows, refuse_problems
from cubital.domain.diary import ChangeKind
from cubital.domain.words import _

FIRST_DAY = date(1990, 1, 1)  # before electronic results in most laboratories (common practice, no source)
FURTHEST = timedelta(days=366)  # a change may be planned; further ahead it is a slip of the pen
MOST_WORDS = 200
_LONG_NUMBER = re.compile(r"\d{6,}|\d{2,4}[- /]\d{2}[- /]\d{4,}|\b(?:mrn|nhc|dob)\b", re.IGNORECASE)
_PERSON = re.compile(
    r"\b(?:Mr|Mrs|Ms|Miss|Dr|Dra|Prof|Sr|Sra|Nurse|Sister|Brother|Patient|Paciente|Enfermera|Enfermero|Doctor|Doctora)"
    r"\.?\s+(?!(?:Manager|Leader|Educator|Specialist|Practitioner|Station|Training|Led)\b)[A-ZÁÉÍÓÚÑ][a-záéíóúñ]+"
    r"|\b[A-ZÁÉÍÓÚÑ]\.\s?[A-ZÁÉÍÓÚÑ][a-záéíóúñ]{2,}"
)
_KIND_NAMES: Mapping[str, ChangeKind] = {
    "education": ChangeKind.TRAINING, "teaching": ChangeKind.TRAINING, "formación": ChangeKind.TRAINING,
    "formacion": ChangeKind.TRAINING, "device": ChangeKind.KIT, "product": ChangeKind.KIT,
    "equipment": ChangeKind.KIT, "equipo": ChangeKind.KIT, "staff": ChangeKind.STAFFING, "rota": ChangeKind.STAFFING,
    "roster": ChangeKind.STAFFING, "personal": ChangeKind.STAFFING, "policy version": ChangeKind.POLICY,
    "protocol": ChangeKind.POLICY, "política": ChangeKind.POLICY, "politica": ChangeKind.POLICY,
    "analyzer": ChangeKind.ANALYSER, "instrument": ChangeKind.ANALYSER, "software": ChangeKind.ANALYSER,
    "analizador": ChangeKind.ANALYSER, "list version": ChangeKind.LIST, "definition": ChangeKind.LIST,
    "lista": ChangeKind.LIST, "otro": ChangeKind.OTHER, "retorno": ChangeKind.FEEDBACK,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A change as somebody wrote it. ``facility`` and ``unit`` are names as typed, empty for everywhere and for the
    whole facility; ``row`` is where it stood in a table, 0 for an entry made by hand."""

    kind: ChangeKind
    on: date
    words: str
    facility: str = ""
    unit: str = ""
    until: date | None = None
    row: int = 0


def kind_words(kind: ChangeKind) -> str:
    """The kind of change for people."""
    return {
        ChangeKind.TRAINING: _("training"), ChangeKind.KIT: _("kit or supplies"), ChangeKind.STAFFING: _("staffing"),
        ChangeKind.POLICY: _("policy version"), ChangeKind.FEEDBACK: _("feedback"),
        ChangeKind.ANALYSER: _("analyser or laboratory software"),
        ChangeKind.LIST: _("list or definition"), ChangeKind.RENAME: _("unit renamed"), ChangeKind.OTHER: _("other"),
    }[kind]  # fmt: skip


def tidy_text(text: str) -> str:
    """Words of an entry as they are kept: one space between words, none around them."""
    return " ".join(text.split())


def draft_troubles(draft: Draft, *, today: date) -> tuple[str, ...]:
    """What is wrong with an entry by itself, each in words without a full stop; empty where nothing is."""
    text = tidy_text(draft.words)
    found = [
        (not text, _("it does not say what changed")),
        (len(text) > MOST_WORDS, _("it has more than {most} letters").format(most=MOST_WORDS)),
        (_names_somebody(text), _("it looks as if it names a person or holds a patient's number; say what changed")),
        (draft.kind is ChangeKind.RENAME, _("a new name of a unit is noted under Units, where it joins both names")),
        (draft.on < FIRST_DAY, _("{day} is before {first}").format(day=draft.on, first=FIRST_DAY)),
        (draft.on > today + FURTHEST, _("{day} is more than a year ahead").format(day=draft.on)),
        (
            draft.until is not None and draft.until < draft.on,
            _("it ends on {to}, before it begins on {start}").format(to=draft.until, start=draft.on),
        ),
        (bool(draft.unit) and not draft.facility, _("a unit needs its facility")),
    ]
    return tuple(words for wrong, words in found if wrong)


def _names_somebody(text: str) -> bool:
    return bool(_LONG_NUMBER.search(text) or _PERSON.search(text))


def diary_columns() -> Columns:
    """What a diary kept by hand looks like."""
    return Columns(
        names={
            "day": ("on", "date", "from", "start", "begins", "día", "dia", "fecha", "desde"),
            "until": ("to", "end", "ends", "hasta", "fin"),
            "kind": ("type", "what kind", "sort", "tipo", "clase"),
            "facility": ("hospital", "site", "centro"),
            "unit": ("ward", "location", "unidad"),
            "what": ("words", "change", "what changed", "event", "note", "description", "qué", "que", "cambio"),
        },
        needed=("day", "kind", "what"),
        advice=_(
            "Give one row per change under the headers day, until, kind, facility, unit, what; for example "
            "2025-06-01,,kit,Marrowby General,ED,Collection kit in use. Kinds are training, kit, staffing, policy, "
            "feedback, analyser, list, other. An empty unit is the whole hospital, an empty facility is everywhere."
        ),
    )


def parse_diary(
    rows: Iterable[Sequence[object]], *, where: str, today: date, find: Callable[[Draft], str]
) -> tuple[Draft, ...]:
    """The rows of a diary kept by hand; ``FileProblem`` with every problem of every row.

    ``find`` says in words what is wrong with the place of a row, and nothing where it is known.
    """
    columns = diary_columns()
    read = hand_rows(rows, columns, where=where)
    drafts = [_draft(row, today=today, find=find) for row in read]
    refuse_problems(read, where=where, advice=columns.advice)
    return tuple(draft for draft in drafts if draft is not None)


def _draft(row: HandRow, *, today: date, find: Callable[[Draft], str]) -> Draft | None:
    on, until, kind = row.day("day", needed=True), row.day("until"), _kind(row)
    words = row.text("what", needed=True)
    if on is None or kind is None or row.problems:
        return None
    draft = Draft(
        kind=kind, on=on, until=until, words=words, facility=row.text("facility"), unit=row.text("unit"),
        row=row.number,
    )  # fmt: skip
    troubles = draft_troubles(draft, today=today)
    for words in troubles:
        row.complain(words)
    place = "" if draft.unit and not draft.facility else find(draft)
    if place:
        row.complain(place)
    return draft


def _kind(row: HandRow) -> ChangeKind | None:
    text = row.text("kind", needed=True).casefold()
    if not text:
        return None
    if text in _KIND_NAMES:
        return _KIND_NAMES[text]
    for kind in ChangeKind:
        if text in (kind.value, kind_words(kind).casefold()):
            return kind
    known = ", ".join(kind.value for kind in ChangeKind if kind is not ChangeKind.RENAME)
    row.complain(_("'{kind}' is no kind of change; known are {known}").format(kind=text[:40], known=known))
    return None


def diary_text(drafts: Sequence[Draft]) -> str:
    """The entries as a table with tabs that ``parse_diary`` reads back to the same entries."""
    rows = [("day", "until", "kind", "facility", "unit", "what")]
    for one in drafts:
        until = one.until.isoformat() if one.until else ""
        rows.append((one.on.isoformat(), until, one.kind.value, one.facility, one.unit, one.words))
    stream = io.StringIO()
    csv.writer(stream, delimiter="\t", lineterminator="\n").writerows(rows)
    return stream.getvalue()
