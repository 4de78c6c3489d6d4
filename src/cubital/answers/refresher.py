"""How long does a refresher last? Contamination by months since it, a curve and its doubt: usually nobody knows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cubital.answers.hand_tables import Columns, hand_rows, refuse_problems
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, share_words
from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import NotIdentifiable, fit_logistic
from cubital.stats.proportions import wilson_interval

MIN_POINTS, MIN_EVENTS = 4, 20  # common practice, no source
MOST_MONTHS = 600


@dataclass(frozen=True, kw_only=True)
class SinceMonth:
    """Sets drawn so many whole months after the collector's refresher, and the contaminated ones among them."""

    months: int
    sets: int
    contaminated: int


@dataclass(frozen=True, kw_only=True)
class Decay:
    """The odds from one month to the next, as a ratio with its interval: above 1 means that it wears off."""

    ratio: float
    interval: Interval

    @property
    def wears_off(self) -> bool:
        """Whether a rise can be told from chance."""
        return self.interval.low > 1

    @property
    def gets_better(self) -> bool:
        """Whether a fall can be told from chance."""
        return self.interval.high < 1


def refresher_columns() -> Columns:
    """What such a table looks like."""
    return Columns(
        names={
            "months": ("months since", "since", "meses"), "sets": ("draws", "extracciones"),
            "contaminated": ("contaminated sets", "contaminados"),
        },
        needed=("months", "sets", "contaminated"),
        advice=_("Give one row per month since the refresher: months, sets, contaminated; for example 0,310,6."),
    )  # fmt: skip


def parse_since(rows: Iterable[Sequence[object]], *, where: str) -> tuple[SinceMonth, ...]:
    """The months since, in order; ``FileProblem`` with every row that cannot be right."""
    columns = refresher_columns()
    read = hand_rows(rows, columns, where=where)
    found: dict[int, SinceMonth] = {}
    for row in read:
        months, sets, events = (row.count(role) for role in ("months", "sets", "contaminated"))
        if months is None or sets is None or events is None:
            continue
        if months in found or months > MOST_MONTHS:
            row.complain(_("{months} months stands twice, or is too long").format(months=months))
        elif events > sets:
            row.complain(
                _("{contaminated} contaminated of {sets} sets is more than all").format(contaminated=events, sets=sets)
            )
        else:
            found[months] = SinceMonth(months=months, sets=sets, contaminated=events)
    refuse_problems(read, where=where, advice=columns.advice)
    return tuple(found[months] for months in sorted(found))


def read_decay(since: Sequence[SinceMonth]) -> Decay | None:
    """The trend in the odds by month since; none where there is too little to ask."""
    held = [one for one in since if one.sets]
    if len(held) < MIN_POINTS or sum(one.contaminated for one in held) < MIN_EVENTS:
        return None
    try:
        fit = fit_logistic(
            [one.contaminated for one in held], [one.sets for one in held],
            [[1.0, float(one.months)] for one in held],
        )  # fmt: skip
    except NotIdentifiable:
        return None
    interval = fit.odds_ratio(1)
    return Decay(ratio=(interval.low * interval.high) ** 0.5, interval=interval)


def build_refresher_answer(since: Sequence[SinceMonth], *, receipt: Receipt | None = None) -> Answer:
    """Whether it wears off, gets better, or cannot be told; too few below four months or twenty contaminated sets."""
    decay = read_decay(since)
    return Answer(
        question=_("How long does a refresher last?"),
        verdict=Verdict.TOO_FEW if decay is None
        else Verdict.SIGNAL if decay.wears_off or decay.gets_better else Verdict.ESTIMATE,
        sentence=_sentence(since, decay),
        figures=() if decay is None else (
            Figure(
                key="monthly", label=_("Odds of contamination, each month after against the one before"),
                value=decay.ratio, unit="ratio", low=decay.interval.low, high=decay.interval.high,
                level=decay.interval.level, method=_("logistic trend over months since the refresher"),
                definition=_("1 means that nothing changes; above 1 it wears off"),
            ),
        ),
        cautions=(
            _("Who went to the refresher was not drawn by lot, and other things changed in these months too."),
            _("A curve through so few months usually cannot tell; no date for the next refresher follows from it."),
        ),
        table=_table(since),
        receipt=receipt,
    )  # fmt: skip


def _sentence(since: Sequence[SinceMonth], decay: Decay | None) -> str:
    events, sets = sum(one.contaminated for one in since), sum(one.sets for one in since)
    counts = _("{count} of {sets} sets after a refresher are contaminated").format(
        count=grouped_words(events), sets=grouped_words(sets)
    )
    if decay is None:
        return _(
            "{counts}: too few to say how long it lasts. At least {points} months and {events} contaminated sets are "
            "needed."
        ).format(counts=counts, points=MIN_POINTS, events=MIN_EVENTS)
    low, high = (decimal_words(f"{value:.2f}") for value in (decay.interval.low, decay.interval.high))
    if decay.wears_off:
        words = _("{counts}, more with every month after it (times {low} to {high} a month): it wears off.")
    elif decay.gets_better:
        words = _("{counts}, fewer with every month after it (times {low} to {high} a month): it does not wear off.")
    else:
        words = _(
            "{counts}; from month to month anything from times {low} to times {high} fits: whether it wears off cannot "
            "be told."
        )
    return words.format(counts=counts, low=low, high=high)


def _table(since: Sequence[SinceMonth]) -> AnswerTable:
    rows = []
    for one in since:
        interval = wilson_interval(one.contaminated, one.sets) if one.sets else None
        rows.append((
            one.months, one.sets, one.contaminated,
            None if interval is None else share_words(one.contaminated / one.sets),
            None if interval is None else _("{low} to {high}").format(
                low=share_words(interval.low), high=share_words(interval.high)
            ),
        ))  # fmt: skip
    return AnswerTable(
        title=_("By months since the refresher"),
        columns=(_("Months since"), _("Sets"), _("Contaminated"), _("Share"), _("Range")),
        rows=tuple(rows),
    )
