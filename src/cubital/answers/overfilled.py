"""Is overfilling a problem too: the share of bottles above policy's maximum, month by month, and whether it moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, month_words, ngettext, share_words
from cubital.stats.proportions import wilson_interval
from cubital.stats.two_proportions import Comparison, difference_newcombe

LEAST_BOTTLES = 30  # measured bottles on either side of a comparison (common practice, no source)
LEAST_MONTHS = 4


@dataclass(frozen=True, kw_only=True)
class FillMonth:
    """One month: bottles with a measured fill, and how many of them lie above policy's maximum."""

    month: str
    bottles: int
    over: int

    def __post_init__(self) -> None:
        if not 0 <= self.over <= self.bottles:
            raise ValueError("no more bottles are over than were measured")


def build_overfilled_answer(
    months: Sequence[FillMonth], *, limit_ml: float | None, receipt: Receipt | None = None
) -> Answer:
    """The share over all months and the later half against the earlier one; no limit or no fill is a refusal."""
    question = _("Is overfilling a problem too?")
    held = [one for one in months if one.bottles]
    if limit_ml is None:
        words = _("Local policy names no upper limit of the fill, so nothing is over it.")
        return Answer(question=question, verdict=Verdict.REFUSED, sentence=words, receipt=receipt)
    if not held:
        words = _("No file says how full the bottles were. Weigh a sample: cubital weigh SHEET --ask overfill.")
        return Answer(question=question, verdict=Verdict.REFUSED, sentence=words, receipt=receipt)
    over, bottles = sum(one.over for one in held), sum(one.bottles for one in held)
    if bottles < LEAST_BOTTLES:
        words = ngettext(
            "{bottles} bottle has a measured fill; {more} more are needed.",
            "{bottles} bottles have a measured fill; {more} more are needed.",
            bottles,
        ).format(bottles=bottles, more=LEAST_BOTTLES - bottles)
        return Answer(question=question, verdict=Verdict.TOO_FEW, sentence=words, receipt=receipt)
    change = _change(held)
    sentence = " ".join((_now(over, bottles, limit_ml=limit_ml), _moved(change)))
    return Answer(
        question=question, verdict=_verdict(change), sentence=sentence, figures=_figures(over, bottles, change),
        cautions=(
            _("An overfilled bottle is blood given for nothing. Filling to policy is the aim, neither less nor more."),
        ),
        picture=_picture(held, title=sentence), table=_table(held), receipt=receipt,
    )  # fmt: skip


def _halves(months: Sequence[FillMonth]) -> tuple[tuple[int, int], tuple[int, int]] | None:
    """(over, bottles) of the earlier and the later half; none where either is too thin."""
    if len(months) < LEAST_MONTHS:
        return None
    middle = len(months) // 2
    earlier, later = (
        (sum(one.over for one in part), sum(one.bottles for one in part)) for part in (months[:middle], months[middle:])
    )
    return (earlier, later) if min(earlier[1], later[1]) >= LEAST_BOTTLES else None


def _change(months: Sequence[FillMonth]) -> Comparison | None:
    halves = _halves(months)
    if halves is None:
        return None
    (x0, n0), (x1, n1) = halves
    return difference_newcombe(x1, n1, x2=x0, n2=n0)


def _sure(change: Comparison | None) -> bool:
    return change is not None and (change.interval.low > 0 or change.interval.high < 0)


def _verdict(change: Comparison | None) -> Verdict:
    if change is None:
        return Verdict.ESTIMATE
    return Verdict.SIGNAL if _sure(change) else Verdict.WITHIN_VARIATION


def _now(over: int, bottles: int, *, limit_ml: float) -> str:
    return _("{over} of {bottles} measured bottles ({share}) hold more than {limit} mL.").format(
        over=grouped_words(over), bottles=grouped_words(bottles), share=share_words(over / bottles),
        limit=decimal_words(f"{limit_ml:g}"),
    )  # fmt: skip


def _moved(change: Comparison | None) -> str:
    if change is None:
        return _("Too few months or bottles to say whether it moves.")
    spread = _("{change} points ({low} to {high})").format(
        change=_points(change.estimate), low=_points(change.interval.low), high=_points(change.interval.high)
    )
    if not _sure(change):
        return _("The later half of the months cannot be told from the earlier one: {spread}.").format(spread=spread)
    if change.estimate > 0:
        return _("In the later half of the months it is more: {spread}.").format(spread=spread)
    return _("In the later half of the months it is less: {spread}.").format(spread=spread)


def _points(share: float) -> str:
    sign = "+" if share > 0 else "\u2212" if share < 0 else ""
    return f"{sign}{decimal_words(f'{100 * abs(share):.1f}')}"


def _figures(over: int, bottles: int, change: Comparison | None) -> tuple[Figure, ...]:
    interval = wilson_interval(over, bottles)
    share = Figure(
        key="over_share", label=_("bottles above their maximum"), value=over / bottles, unit="proportion",
        low=interval.low, high=interval.high, level=interval.level, method=interval.method, numerator=over,
        denominator=bottles,
    )  # fmt: skip
    if change is None:
        return (share,)
    moved = Figure(
        key="over_change", label=_("later half less earlier half"), value=change.estimate, unit="proportion",
        low=change.interval.low, high=change.interval.high, level=change.interval.level, method=change.interval.method,
    )  # fmt: skip
    return share, moved


def _table(months: Sequence[FillMonth]) -> AnswerTable:
    return AnswerTable(
        title=_("Overfilled bottles by month"),
        columns=(_("Month"), _("Bottles measured"), _("Above the maximum"), "%"),
        rows=tuple((one.month, one.bottles, one.over, round(100 * one.over / one.bottles, 1)) for one in months),
    )


def _picture(months: Sequence[FillMonth], *, title: str) -> dict[str, object]:
    rows = []
    for one in months:
        interval = wilson_interval(one.over, one.bottles)
        rows.append(
            IntervalRow(
                name=month_words(one.month, with_year=True), value=one.over / one.bottles, low=interval.low,
                high=interval.high, words=_("{part} of {whole}").format(part=one.over, whole=one.bottles),
            )
        )  # fmt: skip
    return build_interval_picture(rows, title=title)
