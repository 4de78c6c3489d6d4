"""One strength and one focus for a unit's page, from the figures that stand beside the sentence.

A unit is not told off for noise: a figure stands out only when its whole interval lies on one side of the line that
local policy draws. Contamination is left to the sentence above, which has a test of its own, except after a signal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cubital.domain.answer import Answer, Figure, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, share_words

# Figures a unit can do something about; true where more is better. Positivity is not among them: neither more nor
# less growth is a unit's merit.
MORE_IS_BETTER = {
    "solitary_by_episode": False,
    "bottles_complete": True,
    "receipt_very_late": False,
    "fill_low": False,
    "collector_known": True,
}


@dataclass(frozen=True, kw_only=True)
class Highlights:
    """What goes well and what to look at this month, in words; ``by_hand`` leaves a line to write the focus on."""

    strength: str
    focus: str
    by_hand: bool = False


def choose_highlights(answer: Answer, lines: Mapping[str, float], *, late_minutes: int) -> Highlights:
    """The strength and the focus that the answer's figures bear.

    ``lines`` maps a figure's key to the proportion (0 to 1) at which local policy draws its line; a figure without a
    line is never judged. ``late_minutes`` is the time to the laboratory after which the answer counts a set as late.
    The figure that lies furthest beyond its line, by the nearer end of its interval, is taken. After a signal the focus
    is the month's own contaminated sets. Where nothing stands out, the strength is the count of clean sets, and the
    focus is left to be agreed on the spot. Where the answer is that there is too little to say, a handful of sets makes
    neither.
    """
    if answer.verdict in (Verdict.TOO_FEW, Verdict.REFUSED):
        return Highlights(strength="", focus=_too_few_words(), by_hand=True)
    margins = {figure.key: _margin(figure, lines[figure.key]) for figure in answer.figures if _has_line(figure, lines)}
    best = max(margins, key=lambda key: margins[key], default="")
    worst = min(margins, key=lambda key: margins[key], default="")
    strength = (
        _strength_words(answer.figure(best), late_minutes) if best and margins[best] > 0 else _clean_words(answer)
    )
    if answer.verdict is Verdict.SIGNAL:
        return Highlights(strength=strength, focus=_signal_words(answer))
    if worst and margins[worst] < 0:
        return Highlights(strength=strength, focus=_focus_words(answer.figure(worst), lines[worst], late_minutes))
    return Highlights(strength=strength, focus=_nothing_words(has_lines=bool(lines)), by_hand=True)


def _has_line(figure: Figure, lines: Mapping[str, float]) -> bool:
    return figure.key in MORE_IS_BETTER and figure.key in lines and figure.low is not None and figure.high is not None


def _margin(figure: Figure, line: float) -> float:
    """How far the interval lies beyond the line: above 0 on the good side, below 0 on the bad, 0 where it holds it."""
    if figure.low is None or figure.high is None:
        return 0.0
    above, below = max(figure.low - line, 0.0), max(line - figure.high, 0.0)
    return above - below if MORE_IS_BETTER[figure.key] else below - above


def _strength_words(figure: Figure, late: int) -> str:
    return {
        "solitary_by_episode": _("A second set was taken in {rest} of {total} episodes ({rest_share})."),
        "bottles_complete": _("Both bottles came in {count} of {total} sets ({share})."),
        "receipt_very_late": _("{rest} of {total} sets reached the laboratory within {late} minutes ({rest_share})."),
        "fill_low": _("{rest} of {total} bottles were filled well enough ({rest_share})."),
        "collector_known": _("The collector is known for {count} of {total} sets ({share})."),
    }[figure.key].format(late=late, **_numbers(figure))


def _focus_words(figure: Figure, line: float, late: int) -> str:
    words = {
        "solitary_by_episode": _(
            "{count} of {total} episodes had one set only ({share}; local policy says {line} at most). "
            "Adults only: take the sets that the order asks for at the same visit."
        ),
        "bottles_complete": _(
            "{rest} of {total} sets came without both bottles ({rest_share}; local policy asks for both in {line}). "
            "Have both at hand before the needle."
        ),
        "receipt_very_late": _(
            "{count} of {total} sets took over {late} minutes to the laboratory ({share}; local policy says {line} at "
            "most). Send each set as soon as it is labelled."
        ),
        "fill_low": _(
            "{count} of {total} bottles were filled low ({share}; local policy says {line} at most). "
            "Mark the fill line before drawing."
        ),
        "collector_known": _(
            "The collector is unknown for {rest} of {total} sets ({rest_share}; local policy asks for {line} known). "
            "Scan or write who drew."
        ),
    }[figure.key]
    return words.format(line=decimal_words(f"{100 * line:.4g} %"), late=late, **_numbers(figure))


def _clean_words(answer: Answer) -> str:
    """Clean draws are counted first; empty where the answer counts none."""
    for figure in answer.figures:
        if figure.key == "contamination" and figure.denominator and figure.numerator is not None:
            clean = figure.denominator - figure.numerator
            return _("{clean} of {total} did not count as contaminated ({share}).").format(
                clean=grouped_words(clean),
                total=grouped_words(figure.denominator),
                share=share_words(clean / figure.denominator),
            )
    return ""


def _signal_words(answer: Answer) -> str:
    counted = next((figure.numerator for figure in answer.figures if figure.key == "contamination"), None)
    if counted is None:
        return _("Look at this month's contaminated sets together, one by one, before anything is changed.")
    return _("Look at this month's {count} contaminated sets together, one by one, before anything is changed.").format(
        count=counted
    )


def _too_few_words() -> str:
    return _("Too few sets to single anything out this month. Keep to the plan. Agreed here:")


def _nothing_words(*, has_lines: bool) -> str:
    if has_lines:
        return _("Nothing stands out against local policy this month. Keep to the plan. Agreed here:")
    return _("No approved local policy draws a line for these figures. Agreed here for this month:")


def _numbers(figure: Figure) -> dict[str, str]:
    count, total = figure.numerator or 0, figure.denominator or 0
    value = figure.value or 0.0
    return {
        "count": grouped_words(count),
        "rest": grouped_words(total - count),
        "total": grouped_words(total),
        "share": share_words(value),
        "rest_share": share_words(1 - value),
    }
