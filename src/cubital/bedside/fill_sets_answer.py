"""Are bottles short because little was drawn, or because it was shared badly (question 30)?"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cubital.bedside.answering import policy_receipt, refused
from cubital.bedside.fill_sets import SetState, WeighedSet, adult_limits, read_sets
from cubital.bedside.permission import marked, policy_cautions, why_silent
from cubital.bedside.weigh_in import WeighIn, count_figure, tare_doubt_words
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Verdict
from cubital.domain.collection import CollectionPolicy
from cubital.domain.words import _, ngettext


def answer_split_or_short(policy: CollectionPolicy, weigh_in: WeighIn, *, today: date) -> Answer:
    """Are bottles short because little was drawn, or because it was shared badly?"""
    question = _("Are bottles short, or split badly?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    low, high = adult_limits(policy)
    fills = weigh_in.fills(policy)
    sets = read_sets(fills, low_ml=low, high_ml=high)
    sound = [one for one in sets if one.state is not SetState.UNSOUND]
    if not sound:
        return refused(question, _("There is no set of adult bottles with sound weights in this sheet."), policy)
    return Answer(
        question=question, verdict=Verdict.ESTIMATE, sentence=marked(policy, _split_sentence(sound)),
        figures=_split_figures(sound),
        cautions=(*tare_doubt_words(fills, weigh_in.tare), _even_caution(), *policy_cautions(policy)),
        table=_split_table(sets), receipt=policy_receipt(policy),
    )  # fmt: skip


def _under(sets: Sequence[WeighedSet], *, state: SetState | None = None) -> int:
    return sum(one.under for one in sets if state in (None, one.state))


def _split_sentence(sets: Sequence[WeighedSet]) -> str:
    under, drawn = _under(sets), _under(sets, state=SetState.SHORT)
    if not under:
        return _("No bottle is under-filled: there is nothing to explain.")
    short = _("{drawn} of {under} under-filled bottles are in sets that hold too little in all: short draws.").format(
        drawn=drawn, under=under
    )
    split = ngettext(
        "{count} is in a set that held enough and was split badly.",
        "{count} are in sets that held enough and were split badly.",
        under - drawn,
    ).format(count=under - drawn)
    share = f"{short} {split}"
    if drawn > under - drawn:
        return share + " " + _("A campaign for fuller draws would help more than one for the split.")
    return share + " " + _("Sharing the same blood better would help more than drawing more.")


def _split_figures(sets: Sequence[WeighedSet]) -> tuple[Figure, ...]:
    pairs = [one for one in sets if one.even is not None]
    rows = [
        ("short_sets", _("sets with too little in all"), sum(one.state is SetState.SHORT for one in sets), len(sets)),
        ("badly_split_sets", _("sets that held enough, split badly"),
         sum(one.state is SetState.BADLY_SPLIT for one in sets), len(sets)),
        ("uneven_pairs", _("pairs shared unevenly"), sum(one.even is False for one in pairs), len(pairs)),
    ]  # fmt: skip
    return tuple(count_figure(key, label, count, of) for key, label, count, of in rows if of)


def _even_caution() -> str:
    return _(
        "Even: the fuller bottle holds less than 60 % of both. An uneven pair may still follow policy, which fills the "
        "aerobic bottle first when blood is short."
    )


def state_words(state: SetState) -> str:
    """The state of a set in words."""
    return {
        SetState.SHORT: _("too little in all"),
        SetState.BADLY_SPLIT: _("enough, split badly"),
        SetState.ENOUGH: _("enough, well split"),
        SetState.OVER: _("more than the bottles may hold"),
        SetState.UNSOUND: _("a weight is wrong"),
    }[state]


def _split_table(sets: Sequence[WeighedSet]) -> AnswerTable:
    even = {True: _("even"), False: _("uneven"), None: ""}
    return AnswerTable(
        title=ngettext("{count} set weighed", "{count} sets weighed", len(sets)).format(count=len(sets)),
        columns=(
            _("set"), _("in all, mL"), _("aerobic, mL"), _("anaerobic, mL"), _("how it stands"), _("shared"),
        ),
        rows=tuple(
            (
                one.accession, round(one.total_ml, 1), _tenth(one.aerobic_ml), _tenth(one.anaerobic_ml),
                state_words(one.state), even[one.even],
            )
            for one in sets
        ),
    )  # fmt: skip


def _tenth(volume: float | None) -> Cell:
    return None if volume is None else round(volume, 1)
