"""Sets without a partner, by set and by episode. The two are never mixed: the same month gives 9.1 % and 16.7 %."""

from __future__ import annotations

from cubital.domain.answer import Figure
from cubital.domain.words import _, ngettext
from cubital.indicators.shares import LEVEL, build_share
from cubital.judge.counts import MonthCounts


def solitary_shares(counts: MonthCounts, *, level: float = LEVEL) -> tuple[Figure, Figure]:
    """Solitary sets over sets, and solitary sets over episodes (a series or a solitary set is one episode).

    Sets without a patient or a time cannot be paired; they are left out of both and said. Counts that were made
    without series (``solitary`` is none) raise ``ValueError``.
    """
    if counts.solitary is None or counts.episodes is None or counts.unpairable is None:
        raise ValueError("these counts were made without series")
    note = ""
    if counts.unpairable:
        note = ngettext(
            "{count} set has no patient or no time and is left out",
            "{count} sets have no patient or no time and are left out",
            counts.unpairable,
        ).format(count=counts.unpairable)
    by_set = build_share(
        "solitary_by_set",
        _("Single sets, by set"),
        numerator=counts.solitary,
        denominator=counts.sets - counts.unpairable,
        definition=_("sets without another set of the patient in the window, over sets"),
        note=note,
        level=level,
    )
    by_episode = build_share(
        "solitary_by_episode",
        _("Single sets, by episode"),
        numerator=counts.solitary,
        denominator=counts.episodes,
        definition=_("episodes with one set only, over episodes"),
        note=note,
        level=level,
    )
    return by_set, by_episode
