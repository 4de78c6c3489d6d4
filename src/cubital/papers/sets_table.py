"""The tidy table of sets: one row per valid set, with its class, the reason, and the series it belongs to."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.class_words import class_words, reason_words
from cubital.domain.charter import Reason, SetClass
from cubital.domain.cultures import Attribution, SetStatus, TimeQuality
from cubital.domain.decisions import bare_key
from cubital.domain.words import _
from cubital.judge.counts import JudgedSet
from cubital.papers.tidy_table import Column, Kind, TidyTable


def build_sets_table(rows: Sequence[JudgedSet]) -> TidyTable[JudgedSet]:
    """The table over ``rows``. It holds no patient: ``series`` is a local number that ties one patient's sets."""
    columns = (*_place_columns(), *_class_columns(), *_process_columns())
    return TidyTable(name="sets", columns=columns, rows=rows, count=len(rows))


def _place_columns() -> tuple[Column[JudgedSet], ...]:
    return (
        Column(
            key="set", read=lambda s: str(s.set_id),
            meaning=_("number of the set in this workspace; means nothing outside it"),
        ),
        Column(key="facility", read=lambda s: s.facility, meaning=_("hospital where the set was collected")),
        Column(
            key="accession", read=lambda s: s.accession,
            meaning=_("the laboratory's number of the set, as text; unique within a hospital"),
        ),
        Column(
            key="month", read=lambda s: s.month,
            meaning=_("month of the local collection day, year-month; undated where no day is known"),
        ),
        Column(
            key="day", kind=Kind.DAY, read=lambda s: s.day.isoformat() if s.day else None,
            meaning=_("local day of collection, of receipt where collection is missing"),
        ),
        Column(
            key="collected_local", kind=Kind.TIME, meaning=_("collection time as the hospital's clock showed it"),
            read=lambda s: s.collected_local.isoformat(timespec="minutes") if s.collected_local else None,
        ),
        Column(
            key="time_quality", kind=Kind.CODE, read=lambda s: s.time_quality.value, values=_time_values(),
            meaning=_("what the collection time is worth"),
        ),
        Column(key="unit", read=lambda s: s.unit, meaning=_("current key of the collecting unit, renames applied")),
        Column(key="unit_name", read=lambda s: s.unit_name, meaning=_("name of the collecting unit")),
    )  # fmt: skip


def _class_columns() -> tuple[Column[JudgedSet], ...]:
    return (
        Column(
            key="status", kind=Kind.CODE, read=lambda s: s.status.value, values=_status_values(),
            meaning=_("where the result stands"),
        ),
        Column(
            key="class", kind=Kind.CODE, read=lambda s: s.set_class.value,
            values={item.value: class_words(item) for item in SetClass},
            meaning=_("what the set is counted as under the charter named in the about sheet; never a diagnosis"),
        ),
        Column(
            key="reason", kind=Kind.CODE, read=lambda s: s.reason.value,
            values={item.value: reason_words(item) for item in Reason}, meaning=_("why it has its class"),
        ),
        Column(
            key="counted", kind=Kind.YES_NO, read=lambda s: _yes_no(s.counted), values=_yes_no_values(),
            meaning=_("whether the set stands in the charter's denominator"),
        ),
        Column(
            key="organisms", read=lambda s: " | ".join(bare_key(key) or UNREAD for key in s.organisms),
            meaning=_("organisms that grew, as keys between bars; {unread} is a text that could not be read").format(
                unread=UNREAD
            ),
        ),
        Column(
            key="series", read=lambda s: str(s.series_id),
            meaning=_("number of the series: sets with the same number are one patient's within the charter's window"),
        ),
        Column(
            key="series_sets", kind=Kind.COUNT, unit=_("sets"), read=lambda s: s.series_size,
            meaning=_("valid sets in the series, this one included"),
        ),
        Column(
            key="unpairable", kind=Kind.YES_NO, read=lambda s: _yes_no(s.unpairable), values=_yes_no_values(),
            meaning=_("whether patient or time is missing, so that partners cannot be known"),
        ),
        Column(
            key="companions", read=lambda s: " | ".join(other.accession for other in s.companions),
            meaning=_("accessions of the other sets of the series, between bars"),
        ),
    )  # fmt: skip


def _process_columns() -> tuple[Column[JudgedSet], ...]:
    return (
        Column(
            key="attribution", kind=Kind.CODE, read=lambda s: s.attribution.value, values=_attribution_values(),
            meaning=_("how the collector is known; who it was is not in this file"),
        ),
        Column(
            key="minutes_to_receipt", kind=Kind.MEASURE, unit=_("minutes"), read=lambda s: s.minutes_to_receipt,
            meaning=_("from collection to receipt in the laboratory; empty where it cannot be known"),
        ),
        Column(
            key="bottles_complete", kind=Kind.CODE,
            values=_yes_no_values() | {NOT_MEASURABLE: _("the file does not say which bottles there were")},
            read=lambda s: NOT_MEASURABLE if s.bottles_complete is None else _yes_no(s.bottles_complete),
            meaning=_("an aerobic and an anaerobic bottle, or a paediatric one"),
        ),
    )  # fmt: skip


UNREAD = "unread"
NOT_MEASURABLE = "not measurable"


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"


def _yes_no_values() -> dict[str, str]:
    return {"yes": _("yes"), "no": _("no")}


def _time_values() -> dict[str, str]:
    return {
        TimeQuality.EXACT.value: _("day and time"),
        TimeQuality.DATE_ONLY.value: _("the day only"),
        TimeQuality.AMBIGUOUS_HOUR.value: _("in the hour that a clock change repeats; settled by accession order"),
        TimeQuality.AFTER_RECEIPT.value: _("after it was received: one of the two times is wrong"),
        TimeQuality.MISSING.value: _("none"),
    }


def _status_values() -> dict[str, str]:
    return {
        SetStatus.FINAL.value: _("final"),
        SetStatus.PRELIMINARY.value: _("preliminary, the class may still change"),
        SetStatus.CANCELLED.value: _("cancelled"),
        SetStatus.REJECTED.value: _("rejected"),
    }


def _attribution_values() -> dict[str, str]:
    return {
        Attribution.BADGE.value: _("badge scan"),
        Attribution.ROSTER_OR_INITIALS.value: _("roster or initials"),
        Attribution.INFERRED.value: _("inferred"),
        Attribution.NONE.value: _("not known"),
    }
