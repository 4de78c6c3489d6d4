"""Why does the laboratory's number differ from yours? Two lists of contaminated sets, set by set, with the reason.

Theirs is a list of accession numbers; yours are the sets that the charter counts. Whoever is right, the difference is
made of single sets, and each of them has a reason that two people can look at together.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.answers.class_words import reason_words
from cubital.answers.hand_tables import Columns, hand_rows, refuse_problems
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.charter import SetClass
from cubital.domain.words import _, grouped_words, month_words, ngettext
from cubital.judge.counts import JudgedSet


class Side(StrEnum):
    """Who counts a set as contaminated; or why one of their numbers cannot be compared."""

    BOTH = "both"
    ONLY_THEIRS = "only_theirs"
    ONLY_OURS = "only_ours"
    NOT_FOUND = "not_found"
    AMBIGUOUS = "ambiguous"


@dataclass(frozen=True, kw_only=True)
class Listed:
    """One number of their list; ``facility`` is empty where the list does not name one."""

    accession: str
    facility: str


@dataclass(frozen=True, kw_only=True)
class Matched:
    """One set, or one number without a set: who counts it and why we do or do not."""

    accession: str
    facility: str
    side: Side
    why: str


@dataclass(frozen=True, kw_only=True)
class Reconciliation:
    """Every set that at least one side counts, in the order of their list and then ours.

    ``counted`` is our denominator, ``repeated`` how many numbers stood on their list more than once, ``without_zeros``
    how many were found only once leading zeros were left out.
    """

    matched: tuple[Matched, ...]
    counted: int
    repeated: int
    without_zeros: int

    def of(self, side: Side) -> tuple[Matched, ...]:
        """The sets of one side."""
        return tuple(one for one in self.matched if one.side is side)


def list_columns() -> Columns:
    """What their list looks like."""
    return Columns(
        names={
            "accession": (
                "accession number", "accession no", "acc no", "number", "set", "specimen", "laboratory number"
            ),
            "facility": ("hospital", "site"),
        },
        needed=("accession",),
        advice=_(
            "Give one row per set that the laboratory counted as contaminated: accession, and hospital where numbers "
            "repeat between hospitals. No patient."
        ),
    )  # fmt: skip


def parse_their_list(rows: Iterable[Sequence[object]], *, where: str) -> tuple[Listed, ...]:
    """Their numbers in the order of the rows; ``FileProblem`` where the list has none or a row has none."""
    columns = list_columns()
    read = hand_rows(rows, columns, where=where)
    found = tuple(Listed(accession=row.text("accession", needed=True), facility=row.text("facility")) for row in read)
    refuse_problems(read, where=where, advice=columns.advice)
    return found


def reconcile(theirs: Sequence[Listed], *, ours: Sequence[JudgedSet], elsewhere: Sequence[JudgedSet]) -> Reconciliation:
    """Both sides, set by set.

    ``ours`` are all sets of the months asked about with their classes; ``elsewhere`` the sets of other months, to say
    of a number that it belongs there.
    """
    here, there = _by_number(ours), _by_number(elsewhere)
    found: dict[tuple[str, str], Matched] = {}
    repeated = without_zeros = 0
    for one in theirs:
        matched, bare = _match(one, here, there)
        key = (matched.facility, matched.accession)
        repeated += key in found
        without_zeros += bare and key not in found
        found.setdefault(key, matched)
    for own in ours:
        key = (own.facility, own.accession)
        if _is_ours(own) and key not in found:
            found[key] = _matched(own, Side.ONLY_OURS)
    return Reconciliation(
        matched=tuple(found.values()), counted=sum(own.counted for own in ours), repeated=repeated,
        without_zeros=without_zeros,
    )  # fmt: skip


def build_reconciled_answer(
    found: Reconciliation, *, months: tuple[str, str], charter: str, receipt: Receipt
) -> Answer:
    """The sentence, the counts of every side with what they rest on, and each set with its reason."""
    both, only_theirs, only_ours = (found.of(side) for side in (Side.BOTH, Side.ONLY_THEIRS, Side.ONLY_OURS))
    theirs = len(both) + len(only_theirs)
    return Answer(
        question=_("Why does the laboratory's number differ from ours?"),
        verdict=Verdict.ESTIMATE if both or only_theirs or only_ours else Verdict.TOO_FEW,
        sentence=_sentence(found, months=months, charter=charter),
        figures=(
            _figure("theirs", _("On the laboratory's list and in these months"), theirs, found),
            _figure("ours", _("Counted by the charter"), len(both) + len(only_ours), found),
            _figure("both", _("Counted by both"), len(both), found),
            _figure("only_theirs", _("Only on their list"), len(only_theirs), found),
            _figure("only_ours", _("Only by the charter"), len(only_ours), found),
            _figure("not_found", _("On their list, but no set of these months"), len(found.of(Side.NOT_FOUND)), found),
            _figure(
                "ambiguous", _("On their list, but at more than one hospital"), len(found.of(Side.AMBIGUOUS)), found
            ),
        ),
        cautions=_cautions(found),
        table=_table(found),
        receipt=receipt,
    )


def _table(found: Reconciliation) -> AnswerTable:
    """What differs first; the hospital stands there where there is more than one."""
    several = len({one.facility for one in found.matched if one.facility}) > 1
    where = (_("Hospital"),) if several else ()
    return AnswerTable(
        title=_("Every set that somebody counts, and why"),
        columns=(_("Set"), *where, _("Who counts it"), _("Why")),
        rows=tuple(
            (one.accession, *((one.facility,) if several else ()), side_words(one.side), one.why)
            for one in _ordered(found.matched)
        ),
    )


def side_words(side: Side) -> str:
    """Who counts it, in words."""
    return {
        Side.BOTH: _("both"),
        Side.ONLY_THEIRS: _("only the laboratory"),
        Side.ONLY_OURS: _("only the charter"),
        Side.NOT_FOUND: _("no set of these months"),
        Side.AMBIGUOUS: _("not clear which set"),
    }[side]


@dataclass(frozen=True, kw_only=True)
class _Sets:
    """Sets by their number as it is, and by their number without leading zeros."""

    exact: Mapping[str, Sequence[JudgedSet]]
    bare: Mapping[str, Sequence[JudgedSet]]


def _by_number(sets: Sequence[JudgedSet]) -> _Sets:
    exact: dict[str, list[JudgedSet]] = defaultdict(list)
    bare: dict[str, list[JudgedSet]] = defaultdict(list)
    for one in sets:
        exact[_tidy(one.accession)].append(one)
        bare[_tidy(one.accession).lstrip("0")].append(one)
    return _Sets(exact=exact, bare=bare)


def _tidy(text: str) -> str:
    return text.strip().casefold()


def _look_up(one: Listed, sets: _Sets) -> tuple[list[JudgedSet], bool]:
    """The sets of that number, and whether leading zeros had to be left out to find them."""
    number, facility = _tidy(one.accession), _tidy(one.facility)
    for held, is_bare in ((sets.exact.get(number, ()), False), (sets.bare.get(number.lstrip("0"), ()), True)):
        found = [own for own in held if not facility or _tidy(own.facility) == facility]
        if found:
            return found, is_bare
    return [], False


def _match(one: Listed, here: _Sets, there: _Sets) -> tuple[Matched, bool]:
    found, bare = _look_up(one, here)
    if len({own.facility for own in found}) > 1:
        why = _("{names} both have this number; the list does not say which").format(
            names=", ".join(sorted({own.facility for own in found}))
        )
        return Matched(accession=one.accession, facility="", side=Side.AMBIGUOUS, why=why), bare
    if not found:
        return Matched(
            accession=one.accession, facility=one.facility, side=Side.NOT_FOUND, why=_elsewhere_words(one, there)
        ), False
    return _matched(found[0], Side.BOTH if _is_ours(found[0]) else Side.ONLY_THEIRS), bare


def _elsewhere_words(one: Listed, there: _Sets) -> str:
    found, _bare = _look_up(one, there)
    if not found:
        return _("no valid set has this number: cancelled, rejected, of another hospital, or mistyped")
    month = found[0].month
    if not month[:4].isdigit():
        return _("the set has no day, so it belongs to no month")
    return _("drawn in {month}").format(month=month_words(month, with_year=True))


def _matched(own: JudgedSet, side: Side) -> Matched:
    return Matched(accession=own.accession, facility=own.facility, side=side, why=reason_words(own.reason))


def _is_ours(own: JudgedSet) -> bool:
    return own.counted and own.set_class is SetClass.CONTAMINATED


def _figure(key: str, label: str, count: int, found: Reconciliation) -> Figure:
    rate = key in {"theirs", "ours", "both", "only_theirs", "only_ours"} and found.counted
    return Figure(
        key=key, label=label, value=float(count), unit="sets",
        note=_("{count} of {total} counted sets").format(
            count=grouped_words(count), total=grouped_words(found.counted)
        ) if rate else "",
    )  # fmt: skip


def _sentence(found: Reconciliation, *, months: tuple[str, str], charter: str) -> str:
    both, only_theirs, only_ours = (len(found.of(side)) for side in (Side.BOTH, Side.ONLY_THEIRS, Side.ONLY_OURS))
    first, last = (month_words(month, with_year=True) for month in months)
    span = first if first == last else _("{first} to {last}").format(first=first, last=last)
    if not only_theirs and not only_ours:
        return _("{span}: the laboratory and {charter} count the very same sets as contaminated ({count}).").format(
            span=span, charter=charter, count=both
        )
    main = _(
        "{span}: of {total} counted sets the laboratory has {theirs} as contaminated, {charter} has {ours}. Both count "
        "{both}, only the laboratory {only_theirs}, only the charter {only_ours}."
    ).format(
        span=span, charter=charter, theirs=both + only_theirs, ours=both + only_ours,
        total=grouped_words(found.counted), both=both, only_theirs=only_theirs, only_ours=only_ours,
    )  # fmt: skip
    reason = _most_words(found)
    return f"{main} {reason}" if reason else main


def _most_words(found: Reconciliation) -> str:
    """What most of the difference is made of."""
    reasons = Counter(one.why for side in (Side.ONLY_THEIRS, Side.ONLY_OURS) for one in found.of(side))
    named = "; ".join(
        ngettext("{count} set: {why}", "{count} sets: {why}", count).format(count=count, why=why)
        for why, count in reasons.most_common(3)
    )
    return _("The difference is made of {reasons}.").format(reasons=named) if named else ""


def _cautions(found: Reconciliation) -> tuple[str, ...]:
    said = [_("Neither list is wrong by being different: sign one definition, and count both months by it.")]
    if found.repeated:
        said.append(
            ngettext(
                "{count} number stands on their list more than once and was counted once.",
                "{count} numbers stand on their list more than once and were counted once.", found.repeated,
            ).format(count=found.repeated)
        )  # fmt: skip
    if found.without_zeros:
        said.append(
            ngettext(
                "{count} number was found only without its leading zeros, which a spreadsheet takes away.",
                "{count} numbers were found only without their leading zeros, which a spreadsheet takes away.",
                found.without_zeros,
            ).format(count=found.without_zeros)
        )  # fmt: skip
    if found.of(Side.AMBIGUOUS):
        said.append(_("Add a column with the hospital: some numbers belong to more than one."))
    return tuple(said)


def _ordered(matched: Iterable[Matched]) -> list[Matched]:
    """What differs first."""
    order = (Side.ONLY_THEIRS, Side.ONLY_OURS, Side.NOT_FOUND, Side.AMBIGUOUS, Side.BOTH)
    return sorted(matched, key=lambda one: (order.index(one.side), one.why, one.facility, one.accession))
