"""Which column is what: by its header, by its cells, by what the source taught us before; and what has to be asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from cubital.domain.errors import Question
from cubital.domain.places import SourceMemory
from cubital.domain.words import _
from cubital.intake.cell_profile import CellProfile, fit, profile_cells
from cubital.intake.headers import label_headers, tidy_header
from cubital.intake.roles import Role, roles_of_header

SURE = 0.8  # from here on a recognition needs no question
LIKELY = 0.5  # from here on it is proposed
RIVALRY = 0.1  # two columns closer than this compete for one role

# Several columns may carry these: numbered organism columns, and what is not kept anyway.
_SHARED = frozenset(
    {Role.ORGANISM, Role.COMMENTS, Role.SEX, Role.RESULTED, Role.WEIGHT, Role.ORDERED, Role.OTHER, Role.QUANTITY}
)
_SECONDARY = ("barcode", "container", "code", "current", "discharge", "id desc")  # lose against a sibling without them
_PREFERRED = ("collecting", "collection", "acc", "name", "desc")


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column as recognised: ``index`` from 0, ``label`` as people see it, ``confidence`` 0 to 1."""

    index: int
    label: str
    role: Role
    confidence: float
    why: str


@dataclass(frozen=True, kw_only=True)
class Recognition:
    """The columns, what must be asked, and what was proposed below full confidence."""

    columns: tuple[Column, ...]
    questions: tuple[Question, ...] = ()
    proposed: tuple[Question, ...] = ()
    profiles: Mapping[int, CellProfile] = field(default_factory=dict)

    def column(self, role: Role) -> Column | None:
        """The first column of that role, none where the file has none."""
        return next((column for column in self.columns if column.role is role), None)

    def columns_of(self, role: Role) -> tuple[Column, ...]:
        return tuple(column for column in self.columns if column.role is role)


@dataclass(frozen=True)
class _Bid:
    score: float
    role: Role
    index: int
    why: str


def recognise_columns(
    headers: Sequence[str],
    sample: Sequence[Sequence[str]],
    *,
    memory: SourceMemory,
    needed: Sequence[Role] = (Role.ACCESSION, Role.RESULT),
    unwanted: Sequence[Role] = (Role.FROM, Role.TO),
) -> Recognition:
    """Gives each column its role.

    What the source's memory says stands above everything. Then the surest bid wins; a bid that another column matches
    closely is asked. ``needed`` roles that nobody bids for are asked with every
    free column as a choice; ``unwanted`` roles are not given out.
    """
    width = max(len(headers), 1)
    labels = label_headers(list(headers))
    cells = [[row[i] if i < len(row) else "" for row in sample] for i in range(width)]
    profiles = {index: profile_cells(column) for index, column in enumerate(cells)}
    taken = _remembered(labels, memory)
    bids = [bid for bid in _bids(headers, profiles, labels, skip=set(taken)) if bid.role not in unwanted]
    questions, proposed = _assign(bids, taken, labels, cells)
    asked = {question.key.removeprefix("column.") for question in questions}
    missing = [role for role in needed if role.value not in asked]
    questions += _ask_missing(missing, taken, labels, profiles)
    columns = tuple(
        Column(index=index, label=labels[index], role=bid.role, confidence=round(bid.score, 2), why=bid.why)
        if (bid := taken.get(index)) is not None
        else Column(index=index, label=labels[index], role=Role.OTHER, confidence=1.0, why=_("not needed"))
        for index in range(width)
    )
    return Recognition(columns=columns, questions=tuple(questions), proposed=tuple(proposed), profiles=profiles)


def _remembered(labels: Sequence[str], memory: SourceMemory) -> dict[int, _Bid]:
    taken: dict[int, _Bid] = {}
    by_label = {tidy_header(label): index for index, label in enumerate(labels)}
    for header, role in memory.columns.items():
        index = by_label.get(tidy_header(header))
        if index is not None and role in Role._value2member_map_:
            taken[index] = _Bid(1.0, Role(role), index, _("remembered from this source"))
    for key, label in memory.answers.items():
        if key.startswith("column.") and (index := by_label.get(tidy_header(label))) is not None:
            taken[index] = _Bid(1.0, Role(key.removeprefix("column.")), index, _("you said so"))
    return taken


def _bids(
    headers: Sequence[str], profiles: Mapping[int, CellProfile], labels: Sequence[str], *, skip: set[int]
) -> list[_Bid]:
    bids = []
    for index, header in enumerate(headers):
        if index in skip:
            continue
        spelled = roles_of_header(header)
        for role, sure in spelled.items():
            score = sure * fit(role, profiles[index]) + _preference(labels[index])
            bids.append(_Bid(min(score, 1.0), role, index, _("its header says so")))
        if not spelled:
            bids += _bids_by_cells(index, profiles[index])
    return sorted((bid for bid in bids if bid.score >= LIKELY), key=lambda bid: (-bid.score, bid.index))


def _preference(label: str) -> float:
    tidy = tidy_header(label)
    if any(word in tidy for word in _SECONDARY):
        return -0.15
    return 0.04 if any(tidy.startswith(word) or tidy.endswith(word) for word in _PREFERRED) else 0.0


def _bids_by_cells(index: int, cells: CellProfile) -> list[_Bid]:
    why = _("its cells look like it")
    if cells.filled < 3:
        return []
    if cells.bottles > 0.9 and cells.distinct <= 6:
        return [_Bid(0.7, Role.BOTTLE, index, why)]
    if cells.statuses > 0.95 and cells.finals > 0.3 and 2 <= cells.distinct <= 4:
        return [_Bid(0.6, Role.STATUS, index, why)]
    return []


def _assign(
    bids: Sequence[_Bid], taken: dict[int, _Bid], labels: Sequence[str], cells: Sequence[Sequence[str]]
) -> tuple[list[Question], list[Question]]:
    """Gives out roles from the surest bid down; fills ``taken``."""
    questions: list[Question] = []
    proposed: list[Question] = []
    filled_roles = {bid.role for bid in taken.values()}
    best_of = _best_bid_per_column(bids)
    for bid in bids:
        if bid.index in taken or (bid.role in filled_roles and bid.role not in _SHARED):
            continue
        rivals = [
            other
            for other in bids
            if other.role is bid.role and other.index != bid.index and other.index not in taken
            and other.score > bid.score - RIVALRY and best_of[other.index].score <= other.score + 0.001
            and cells[other.index] != cells[bid.index]
        ]  # fmt: skip
        filled_roles.add(bid.role)
        if rivals and bid.role not in _SHARED:
            choices = tuple(labels[rival.index] for rival in sorted([bid, *rivals], key=lambda b: b.index))
            questions.append(_ask_which(bid.role, choices))
            continue
        taken[bid.index] = bid
        if bid.score < SURE and bid.role not in _SHARED:
            proposed.append(_ask_which(bid.role, (labels[bid.index], "none")))
    return questions, proposed


def _best_bid_per_column(bids: Sequence[_Bid]) -> dict[int, _Bid]:
    best: dict[int, _Bid] = {}
    for bid in bids:
        if bid.index not in best or bid.score > best[bid.index].score:
            best[bid.index] = bid
    return best


def _ask_missing(
    needed: Sequence[Role], taken: Mapping[int, _Bid], labels: Sequence[str], profiles: Mapping[int, CellProfile]
) -> list[Question]:
    roles = {bid.role for bid in taken.values()}
    if roles & {Role.ORGANISM, Role.AEROBIC, Role.ANAEROBIC}:
        roles.add(Role.RESULT)
    free = [label for index, label in enumerate(labels) if index not in taken and profiles[index].filled]
    return [_ask_which(role, tuple(free)) for role in needed if role not in roles]


def fix_columns(recognition: Recognition) -> Recognition:
    """The columns of messages: nothing of them was recognised, the standard says what they are."""
    why = _("messages say it themselves")
    unread = _("not in these messages")
    return replace(
        recognition,
        columns=tuple(
            replace(column, why=unread if column.role is Role.OTHER else why) for column in recognition.columns
        ),
    )


def role_words(role: Role) -> str:
    """The role as a person names it."""
    return {
        Role.ACCESSION: _("the accession number of the set"),
        Role.PATIENT: _("the patient's number"),
        Role.BIRTH: _("the birth date"),
        Role.AGE: _("the age"),
        Role.UNIT: _("the collecting unit"),
        Role.COLLECTED: _("the collection time"),
        Role.COLLECTED_DATE: _("the collection date"),
        Role.COLLECTED_CLOCK: _("the collection hour"),
        Role.RECEIVED: _("the time of receipt"),
        Role.RECEIVED_DATE: _("the date of receipt"),
        Role.RECEIVED_CLOCK: _("the hour of receipt"),
        Role.LOADED: _("the time of loading"),
        Role.POSITIVE: _("the time of first growth"),
        Role.BOTTLE: _("the bottle"),
        Role.COLLECTOR: _("the collector"),
        Role.STATUS: _("the status of the result"),
        Role.RESULT: _("the result"),
        Role.ORGANISM: _("the organism"),
        Role.SPECIMEN: _("the type of specimen"),
        Role.TEST: _("the test"),
        Role.SITE: _("the site"),
        Role.METHOD: _("the method of collection"),
        Role.FILL: _("the fill in mL"),
        Role.FROM: _("the time of arrival in the unit"),
        Role.TO: _("the time of leaving the unit"),
        Role.COLLECTED_OFFSET: _("minutes from UTC at collection"),
        Role.RECEIVED_OFFSET: _("minutes from UTC at receipt"),
        Role.OTHERWISE: _("another organism that the same result names"),
        Role.VERSION: _("which report of the order it was"),
        Role.REFERENCE: _("which message it was"),
        Role.LOSS: _("why it is no blood culture"),
    }.get(role, role.value.replace("_", " "))


def _ask_which(role: Role, choices: tuple[str, ...]) -> Question:
    return Question(
        f"column.{role.value}", _("Which column holds {role}?").format(role=role_words(role)), tuple(choices)
    )
