"""P21, the card of a shortage: what to do at each level of stock, by whose decision, on one page."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.shortage_words import missed_words
from cubital.answers.stock import stock_sentence
from cubital.answers.stock_reading import RunOut, StockReading, TierEffect
from cubital.domain.errors import PolicyProblem
from cubital.domain.words import _, day_words, decimal_words, share_words
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

SIZES = (12, 11, 10, 9)  # points; the largest that fits one page is taken


def print_tier_page(
    reading: StockReading, *, detected_per_year: int | None = None, paper: PaperSize = PaperSize.A4
) -> bytes:
    """The card for one item as PDF, one page.

    ``PolicyProblem`` where there is no tier, or one that is not approved for the day: a card on a wall says what to do,
    and fewer cultures are a clinical decision.
    """
    _must_be_approved(reading.tiers)
    for size in SIZES:
        sheet = Sheet(
            template="tiers", title=_("Shortage: {name}").format(name=reading.item.name),
            data=_words(reading, detected_per_year, size=size), made_on=reading.today, paper=paper,
        )  # fmt: skip
        try:
            return typeset(sheet)
        except PageTooLong:
            continue
    raise PolicyProblem(
        _("these tiers have too many words for one readable page."), fix=_("Say what to do in fewer words.")
    )


def _must_be_approved(tiers: Sequence[TierEffect]) -> None:
    if not tiers:
        raise PolicyProblem(_("there is no tier to print."), fix=_("Give the list of tiers."))
    late = [one.tier.name for one in tiers if not one.in_date]
    if late:
        raise PolicyProblem(
            _("not approved for this day: {names}. Nothing is printed from it.").format(names=", ".join(late)),
            fix=_("Have the clinical owner approve it, and give the days of approval and review."),
        )


def _words(reading: StockReading, detected: int | None, *, size: float) -> dict[str, object]:
    begun = [one for one in reading.tiers if one.begins]
    return {
        "size": size,
        "heading": _("Shortage: {name}").format(name=reading.item.name),
        "sentence": stock_sentence(reading),
        "now": _("applies now"),
        "steps": [_step(one, now=bool(begun) and one is begun[-1]) for one in reading.tiers],
        "cautions": [
            _("Fewer cultures are a clinical decision: no tier applies unless its clinical owner has said so."),
            _("No tier delays a culture or an antibiotic for a patient who may have sepsis."),
            missed_words(reading, detected),
        ],
        "foot": _(
            "Scenario, not a forecast; count again every week. Follow local policy and your scope of practice; ask the "
            "responsible clinician or laboratory when they differ."
        ),
    }


def _step(one: TierEffect, *, now: bool) -> dict[str, object]:
    tier = one.tier
    saves = _("{low} to {high}").format(low=share_words(tier.saves[0], 0), high=share_words(tier.saves[1], 0))
    return {
        "name": tier.name,
        "now": now,
        "when": _("below {days} days of cover").format(days=decimal_words(f"{tier.below_days:g}")),
        "what": tier.what,
        "effect": _("Spares {saves} of the use: likely to last until {least} to {most} instead.").format(
            saves=saves, least=_until(one.least), most=_until(one.most)
        ),
        "owner": _("Decided by {owner}, approved {day}, to be reviewed by {review}.").format(
            owner=tier.owner, day=day_words(tier.approved_on), review=day_words(tier.review_by)
        ),
    }


def _until(run: RunOut) -> str:
    return day_words(run.middle) if run.middle else _("beyond what is looked at")
