"""What is said of a dated change, by how strong its design is; the fall that comes by itself first, a cause never."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from cubital.answers.counted_words import capital
from cubital.answers.did_design import LEAST_DAYS, LEAST_PEERS, Design
from cubital.answers.did_material import Pair
from cubital.answers.did_models import EVENTS_LEAST, DidFit, Model
from cubital.answers.did_reading import ChangeReading, told_apart
from cubital.answers.did_table_words import fit_words
from cubital.answers.did_wording import joined_words, range_words, ratio_words
from cubital.domain.diary import DiaryEntry
from cubital.domain.words import _, day_words, grouped_words, ngettext, number_words, share_words


def change_sentence(reading: ChangeReading) -> str:
    """The sentence to say aloud."""
    design = reading.design
    if design.kind is Design.TWIN:
        return _joined(_twin_sentence(reading))
    if design.kind in (Design.OUTSIDE, Design.SHORT, Design.CROWDED, Design.THIN):
        return _joined(_refusal(reading))
    if reading.fit is None:
        return _joined([came_words(reading), _empty_words(reading)])
    parts = {
        Model.PEERS: _peers_sentence, Model.STEPPED: _stepped_sentence, Model.SERIES: _series_sentence,
        Model.PLAIN: _plain_sentence,
    }[reading.fit.model](reading, reading.fit)  # fmt: skip
    return _joined([came_words(reading), itself_words(reading), *parts])


def _joined(parts: Sequence[str]) -> str:
    return " ".join(part for part in parts if part)


def change_words(entry: DiaryEntry) -> str:
    """``“new kit” on 3 March 2026``."""
    return _("“{words}” on {day}").format(words=entry.words, day=day_words(entry.on))


def pair_words(pair: Pair) -> str:
    """``4.4 % (119 of 2,700 sets)``."""
    if not pair[1]:
        return _("no sets")
    return _("{share} ({count} of {sets} sets)").format(
        share=share_words(pair[0] / pair[1]), count=grouped_words(pair[0]), sets=grouped_words(pair[1])
    )


def came_words(reading: ChangeReading) -> str:
    """What was counted before and after, without a word on why."""
    counts = reading.counts
    if counts is None:
        return ""
    return capital(_("{place} had {before} before {change}, and {after} since.").format(
        place=reading.material.name, before=pair_words(counts.before), after=pair_words(counts.after),
        change=change_words(reading.material.change),
    ))  # fmt: skip


def itself_words(reading: ChangeReading) -> str:
    """The fall that comes by itself, where the place was the worst of all before."""
    visit = reading.design.visit
    if visit is None or not visit.was_worst or visit.expected is None:
        return ""
    return _(
        "It was the highest of all before: some fall is expected anyway, to about {expected}, whatever is done."
    ).format(expected=share_words(visit.expected))


def _peers_sentence(reading: ChangeReading, fit: DidFit) -> list[str]:
    counts, peers = reading.counts, len(reading.design.peers)
    if counts is None:
        return []
    others = ngettext(
        "{count} unit without it went from {before} to {after}.",
        "{count} units without it went from {before} to {after}.", peers,
    ).format(
        count=capital(number_words(peers)), before=pair_words(counts.peers_before),
        after=pair_words(counts.peers_after),
    )  # fmt: skip
    values = {"ratio": ratio_words(fit.ratio), "range": range_words(fit.interval)}
    if reading.beyond:
        said = (
            _("Against these it is contaminated about {ratio} times as often as was to be expected ({range}): more "
              "than chance and more than units differ anyway.")
            if fit.ratio < 1
            else _("Against these it is contaminated about {ratio} times as often as was to be expected ({range}): "
                   "that is worse, and not by chance alone.")
        )  # fmt: skip
        return [others, said.format(**values), _decision(reading, fit), _like_words()]
    if fit.beyond:
        return [
            others,
            _(
                "Against these it is about {ratio} times as often ({range}), but no more than the highest of all falls "
                "by itself."
            ).format(**values),
            _decision(reading, fit),
        ]
    open_words = _(
        "Against these it is about {ratio} times as often ({range}), which cannot be told from no difference."
    )
    return [others, open_words.format(**values), _decision(reading, fit)]


def _stepped_sentence(reading: ChangeReading, fit: DidFit) -> list[str]:
    values = {
        "count": number_words(len(reading.design.steps)), "units": number_words(fit.units),
        "ratio": ratio_words(fit.ratio), "range": range_words(fit.interval),
    }  # fmt: skip
    said = (
        _(
            "It began in {count} units, one after another. In {units} units, with the months held equal, sets are "
            "contaminated about {ratio} times as often with it as without ({range}): more than chance gives."
        )
        if reading.beyond
        else _(
            "It began in {count} units, one after another. In {units} units, with the months held equal, it is about "
            "{ratio} times as often with it as without ({range}), which cannot be told from no difference."
        )
    )
    alike = _("Something else that went from unit to unit with it would look the same.") if reading.beyond else ""
    return [said.format(**values), _decision(reading, fit), alike]


def _series_sentence(reading: ChangeReading, fit: DidFit) -> list[str]:
    held = _("the trend and the season of its own months") if fit.season else _("the trend of its own months")
    values = {"ratio": ratio_words(fit.ratio), "range": range_words(fit.interval), "held": held}
    alone = _("No unit went without it, so whatever else began then is in it too.")
    if reading.beyond:
        said = _("Against {held} it stepped to about {ratio} times as often ({range}), more than chance gives.")
    else:
        said = _(
            "Against {held} it is about {ratio} times as often ({range}), which cannot be told from no difference."
        )
    return [said.format(**values), alone, _decision(reading, fit)]


def _plain_sentence(_reading: ChangeReading, fit: DidFit) -> list[str]:
    return [
        _("That is {ratio} times as often ({range}).").format(
            ratio=ratio_words(fit.ratio), range=range_words(fit.interval)
        ),
        _(
            "It describes two times and no more: fewer than {count} units went without it, and the months are too few "
            "for a trend. Before and after cannot show a cause."
        ).format(count=number_words(LEAST_PEERS)),
        _("Do not decide on this alone."),
    ]  # fmt: skip


def _decision(reading: ChangeReading, fit: DidFit) -> str:
    name = _("“{words}”").format(words=reading.material.change.words)
    if not reading.beyond:
        return _("Do not keep or drop {name} on this evidence; a planned trial would tell.").format(name=name)
    if fit.ratio < 1:
        return _("Keeping {name} fits these counts.").format(name=name)
    return _("Look at {name} again before carrying on with it.").format(name=name)


def _like_words() -> str:
    return _("Something else that began only there at that time would look the same.")


def _twin_sentence(reading: ChangeReading) -> list[str]:
    names = joined_words([
        _("“{words}”").format(words=entry.words) for entry in (reading.material.change, *reading.design.twins)
    ])  # fmt: skip
    together = reading.together
    if together is None or not told_apart(reading):
        return [
            came_words(reading),
            _(
                "{names} began there on one day: they cannot be told apart here. A unit where only one of them began "
                "would tell."
            ).format(names=names),
        ]
    fits = [fit for factor in together.asked for fit in together.fits_of(factor)]
    said = "; ".join(fit_words(fit, sentence=False) for fit in fits)
    return [
        came_words(reading),
        _("{names} began there on one day, and other units had only one of them or none: {said}.").format(
            names=names, said=said
        ),
        _like_words(),
    ]


def _refusal(reading: ChangeReading) -> list[str]:
    material, design = reading.material, reading.design
    return (
        {
            Design.OUTSIDE: _outside_words,
            Design.SHORT: _short_words,
            Design.CROWDED: _crowded_words,
            Design.THIN: _thin_words,
        }[design.kind](reading)
        if material.units
        else []
    )


def _outside_words(reading: ChangeReading) -> list[str]:
    material = reading.material
    where = (
        _("nothing was counted there before it") if material.change.on <= material.first
        else _("nothing has been counted there since")
    )  # fmt: skip
    return [
        _("{change} cannot be asked about: the sets of {place} run from {first} to {last}, so {where}.").format(
            change=change_words(material.change), place=material.name, first=day_words(material.first),
            last=day_words(material.last), where=where,
        )
    ]  # fmt: skip


def _short_words(reading: ChangeReading) -> list[str]:
    material = reading.material
    before = (material.change.on - material.first).days
    after = (material.last - material.change.on).days + 1
    said = _(
        "{before} before and {after} since {change} are too short to tell anything from chance: {least} weeks on "
        "either side are the least."
    ).format(
        before=weeks_words(before), after=weeks_words(after), change=change_words(material.change),
        least=LEAST_DAYS // 7,
    )  # fmt: skip
    parts = [capital(said)]
    if after < LEAST_DAYS:
        day = material.change.on + timedelta(days=LEAST_DAYS - 1)
        parts.append(_("Ask again when there are sets up to {day}.").format(day=day_words(day)))
    return parts


def weeks_words(days: int) -> str:
    """``four weeks``, ``5 days``: whole weeks from two on."""
    if days < 14:
        return ngettext("{count} day", "{count} days", days).format(count=days)
    return ngettext("{count} week", "{count} weeks", days // 7).format(count=number_words(days // 7))


def _crowded_words(reading: ChangeReading) -> list[str]:
    near = joined_words(list(dict.fromkeys(change_words(entry) for entry in reading.design.cutting)))
    return [
        _(
            "{change} cannot be told apart from {near}: fewer than {least} weeks lie between them, and the counts of "
            "both run together."
        ).format(change=change_words(reading.material.change), near=near, least=LEAST_DAYS // 7)
    ]  # fmt: skip


def _thin_words(reading: ChangeReading) -> list[str]:
    counts, least = reading.counts, reading.material.policy.min_sets
    if counts is None:
        return []
    return [
        _(
            "{place} has {before} sets before and {after} since {change}: too few to say; {least} are needed on either "
            "side."
        ).format(
            place=reading.material.name, before=grouped_words(counts.before[1]), after=grouped_words(counts.after[1]),
            change=change_words(reading.material.change), least=least,
        )
    ]  # fmt: skip


def _empty_words(reading: ChangeReading) -> str:
    counts = reading.counts
    if counts is not None and 0 < counts.before[0] + counts.after[0] < EVENTS_LEAST:
        return ngettext(
            "That is {count} contaminated set in all: too few to tell; {least} are the least.",
            "Those are {count} contaminated sets in all: too few to tell; {least} are the least.",
            counts.before[0] + counts.after[0],
        ).format(count=number_words(counts.before[0] + counts.after[0]), least=EVENTS_LEAST)
    if counts is not None and not counts.before[0]:
        return _("Nothing was contaminated there before: there was nothing to fall.")
    return _("One side holds no contaminated set: how much it differs has no bound yet, and more months are needed.")
