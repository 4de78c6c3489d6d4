"""What a pack says of its data: the account of the files, how far clocks are trusted, why earlier figures changed."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.restated import EarlierPack
from cubital.domain.answer import Answer, AnswerTable
from cubital.domain.cultures import TimeQuality
from cubital.domain.words import _, day_words, grouped_words, ngettext, share_words
from cubital.workspace.batches import BatchReport, list_batches
from cubital.workspace.known_then import day_of
from cubital.workspace.opening import Workspace

MOST_FILES = 8
A_FEW = -1  # a small count, which is not said


def pack_files(workspace: Workspace, *, facility: str | None, since_batch: int) -> tuple[AnswerTable, str]:
    """The account of every file of the place taken in after that batch, and what it comes to; the last ones in full.

    Where nothing came in since, all files are accounted for. Reasons are named by size, never counted: single rows
    can be single people.
    """
    every = [
        one for one in list_batches(workspace) if one.kind == "cultures" and facility in (None, one.facility)
    ]  # fmt: skip
    files = [one for one in every if one.number > since_batch] or every
    table = AnswerTable(
        title=_("Files and their rows"),
        columns=(
            _("Batch"), _("Hospital"), _("Taken"), _("Rows"), _("Sets"), _("Other rows"), _("Mostly because"),
        ),
        rows=tuple(
            (
                one.number, one.facility, day_words(day_of(workspace, one)), one.reconciliation.rows,
                one.reconciliation.sets, _lost(one), _reasons(one),
            )
            for one in files[-MOST_FILES:]
        ),
    )  # fmt: skip
    return table, _files_words(files, since=since_batch > 0 and len(files) < len(every))


def _lost(one: BatchReport) -> int:
    return one.reconciliation.rows - one.reconciliation.sets


def _reasons(one: BatchReport) -> str:
    """The two commonest reasons in words."""
    losses = sorted(one.reconciliation.losses, key=lambda tally: -tally.count)
    return "; ".join(tally.words for tally in losses[:2])


def _files_words(files: Sequence[BatchReport], *, since: bool) -> str:
    if not files:
        return _("No file has been taken in.")
    rows = sum(one.reconciliation.rows for one in files)
    sets = sum(one.reconciliation.sets for one in files)
    words = ngettext(
        "Every row is accounted for: {rows} rows came in {files} file, {sets} became sets, and each of the other "
        "{lost} has its reason.",
        "Every row is accounted for: {rows} rows came in {files} files, {sets} became sets, and each of the other "
        "{lost} has its reason.",
        len(files),
    ).format(rows=grouped_words(rows), files=len(files), sets=grouped_words(sets), lost=grouped_words(rows - sets))
    return f"{_('Since the last pack.')} {words}" if since else words


def pack_times(answer: Answer, times: dict[str, int]) -> tuple[str, ...]:
    """Who is known to have drawn, and how far the clocks can be trusted, one line each."""
    words = {
        TimeQuality.AMBIGUOUS_HOUR: _(
            "drawn in the hour that the clock change repeats, settled by order, and kept in the hour they name"
        ),
        TimeQuality.AFTER_RECEIPT: _("with a collection time after their receipt: their hour stands nowhere"),
        TimeQuality.DATE_ONLY: _("with a day and no hour"),
        TimeQuality.MISSING: _("without any collection time"),
    }
    lines = [
        _("Sets {what}: {count}.").format(what=what, count=_count_words(times.get(quality.value, 0)))
        for quality, what in words.items()
    ]
    return (_collector_words(answer), *lines)


def _count_words(count: int) -> str:
    return _("a few, too small a count to show") if count == A_FEW else grouped_words(count)


def _collector_words(answer: Answer) -> str:
    figure = answer.figure("collector_known")
    if figure.value is None or figure.numerator is None or figure.denominator is None:
        return _("Who collected is not known or not shown; nothing in this pack rests on it.")
    return _("Collector known for {count} of {total} sets ({share}); nothing in this pack rests on it.").format(
        count=grouped_words(figure.numerator), total=grouped_words(figure.denominator),
        share=share_words(figure.value, digits=0),
    )  # fmt: skip


def restated_reasons(
    workspace: Workspace, earlier: Sequence[EarlierPack], *, batches: dict[int, int]
) -> dict[str, str]:
    """Which file changed a month since a pack was made, keyed ``pack:month``; ``batches`` are the packs' last ones."""
    found: dict[str, list[str]] = {}
    reports = list_batches(workspace)
    for pack in earlier:
        for one in reports:
            if one.number <= batches[pack.number]:
                continue
            words = _("batch {number} of {day}").format(number=one.number, day=day_words(day_of(workspace, one)))
            for month in one.changed_months:
                found.setdefault(f"{pack.number}:{month}", []).append(words)
    return {
        key: _("{files} changed results of these months").format(files=", ".join(words)) for key, words in found.items()
    }
