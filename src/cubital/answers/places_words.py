"""What is said about places side by side: the whole first, then who stands out, then what must be kept in mind."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.places_reading import PlaceReading, PlacesReading, Side
from cubital.domain.words import _, grouped_words, ngettext, share_words
from cubital.stats.assurance import trials_until_likely
from cubital.stats.proportions import wilson_interval

MOST_NAMED = 3
LIKELY = 0.95
LEAST_FALL = 0.001  # a tenth of a point: less is not seen in figures with one decimal
LITTLE = 0.05  # a chance below this is no excuse any more; common practice, no source
NOTHING_HIDDEN: frozenset[str] = frozenset()


def places_sentence(reading: PlacesReading, *, hidden: frozenset[str] = NOTHING_HIDDEN, whole: bool = True) -> str:
    """The sentence to say aloud. Counts of ``hidden`` places are not said; ``whole`` says whether those of all may be.

    The whole comes first, because a place among many that are all too high is not the place to begin.
    """
    if not reading.sets:
        return _("No place has a set: there is nothing to compare.")
    if not reading.places:
        return _nothing_to_compare(reading, whole=whole)
    return " ".join((_whole_words(reading, whole=whole), _difference_words(reading, hidden)))


def _nothing_to_compare(reading: PlacesReading, *, whole: bool) -> str:
    places = len(reading.counts)
    if places == 1:
        name = reading.counts[0].name
        said = _("Only one place has sets, {name}{counts}: a comparison needs two.").format(
            name=name, counts=_("; {counts}").format(counts=_all_counts(reading)) if whole else ""
        )
        return f"{said} {_('Whether a month of it is unusual, the page This month says.')}"
    if reading.contaminated:
        return _(
            "All {sets} sets in {places} places are contaminated: look at the charter and at the file before any place."
        ).format(sets=grouped_words(reading.sets), places=places)
    return _(
        "None of {sets} sets in {places} places is contaminated: no place can be told from another. At a target of "
        "{target} a place needs {need} sets before at least one is likely to be seen."
    ).format(
        sets=grouped_words(reading.sets), places=places, target=share_words(reading.policy.target),
        need=grouped_words(trials_until_likely(reading.policy.target, chance=LIKELY)),
    )  # fmt: skip


def _all_counts(reading: PlacesReading) -> str:
    return _("{count} of {sets} sets").format(
        count=grouped_words(reading.contaminated), sets=grouped_words(reading.sets)
    )


def _whole_words(reading: PlacesReading, *, whole: bool) -> str:
    target = share_words(reading.policy.target)
    above = reading.rate > reading.policy.target
    if not whole:
        words = _("All together are above target") if above else _("All together are within target")
        return _("{words} (at most {target}).").format(words=words, target=target)
    interval = wilson_interval(reading.contaminated, reading.sets)
    words = (
        _("All together are above target: {counts}, {share} ({low} to {high}), where at most {target} is aimed at.")
        if above
        else _("All together are within target: {counts}, {share} ({low} to {high}; target {target}).")
    )
    return words.format(
        counts=_all_counts(reading), share=share_words(reading.rate), low=share_words(interval.low),
        high=share_words(interval.high), target=target,
    )  # fmt: skip


def _difference_words(reading: PlacesReading, hidden: frozenset[str]) -> str:
    above, below = reading.standing_out(Side.ABOVE), reading.standing_out(Side.BELOW)
    if not above and not below:
        return _alike_words(reading)
    said = []
    if above:
        said.append(
            ngettext(
                "{allowed}, {names} stands out above the others: look there first, at supplies, hours and who draws.",
                "{allowed}, {names} stand out above the others: look there first, at supplies, hours and who draws.",
                len(above),
            ).format(allowed=_allowed_words(reading), names=_names(above, hidden))
        )
    if below:
        said.append(
            ngettext(
                "{names} stands out below: ask there what others can learn.",
                "{names} stand out below: ask there what others can learn.",
                len(below),
            ).format(names=_names(below, hidden))
        )
    return " ".join(said)


def _alike_words(reading: PlacesReading) -> str:
    fair = sum(one.shown for one in reading.places)
    if fair < 2:
        return _(
            "Fewer than two of {places} places have {least} sets or more from more than one person: "
            "too few to tell places apart."
        ).format(places=len(reading.places), least=reading.policy.min_sets)
    action = (
        _("Work on what all places share; choosing one now would be choosing by chance.")
        if reading.rate > reading.policy.target
        else _("No action on a single place.")
    )
    words = _("{allowed}, they cannot be told apart. {action}")
    return words.format(allowed=_allowed_words(reading), action=action)


def _allowed_words(reading: PlacesReading) -> str:
    places = len(reading.places)
    words = (
        _("Allowing for chance, for what places usually differ by, and for looking at {places} of them at once")
        if reading.widened
        else _("Allowing for chance and for looking at {places} of them at once")
    )
    return words.format(places=places)


def _names(places: Sequence[PlaceReading], hidden: frozenset[str]) -> str:
    named = [_one_name(one, hidden) for one in places[:MOST_NAMED]]
    left = len(places) - MOST_NAMED
    if left > 0:
        named.append(ngettext("{count} more", "{count} more", left).format(count=left))
    return _(" and ").join((", ".join(named[:-1]), named[-1])) if len(named) > 1 else named[0]


def _one_name(one: PlaceReading, hidden: frozenset[str]) -> str:
    if one.count.key in hidden:
        return one.count.name
    return _("{name} ({count} of {sets} sets, {share})").format(
        name=one.count.name, count=grouped_words(one.count.contaminated), sets=grouped_words(one.count.sets),
        share=share_words(one.rate),
    )  # fmt: skip


def places_cautions(
    reading: PlacesReading,
    *,
    hidden: frozenset[str] = NOTHING_HIDDEN,
    empty: Sequence[str] = (),
    name_highest: bool = True,
) -> tuple[str, ...]:
    """The fall that comes by itself, zeros that prove nothing, too few, one person's places, other patients.

    Without ``name_highest`` the first is left out: in a committee the place with the highest share is not worth a name.
    """
    return tuple(
        words
        for words in (
            _worst_words(reading, hidden) if name_highest else "",
            *_zero_words(reading, hidden),
            _few_words(reading),
            _one_person_words(reading),
            _empty_words(empty),
            _mix_words(reading),
            _("External benchmark uses another definition: compare with figures from elsewhere only where "
              "the definition is the same.") if reading.places else "",
        )
        if words
    )  # fmt: skip


def _worst_words(reading: PlacesReading, hidden: frozenset[str]) -> str:
    worst = reading.worst
    if worst is None or worst.count.key in hidden or worst.rate - worst.estimate < LEAST_FALL:
        return ""
    return _(
        "{name} has the highest share of all. Selected because it was worst: some fall is expected anyway, from "
        "{raw} to about {drawn}, whatever is done."
    ).format(name=worst.count.name, raw=share_words(worst.rate), drawn=share_words(worst.estimate))


def _zero_words(reading: PlacesReading, hidden: frozenset[str]) -> list[str]:
    clean = [one for one in reading.places if (one.zero_chance or 0.0) > LITTLE and one.count.key not in hidden]
    return [
        _("{name}: none of {sets} sets. That is {chance} likely even at a true 2 %: no proof of being clean.").format(
            name=one.count.name, sets=grouped_words(one.count.sets), chance=share_words(one.zero_chance or 0.0, 0)
        )
        for one in sorted(clean, key=lambda one: -one.count.sets)[:MOST_NAMED]
    ]


def _few_words(reading: PlacesReading) -> str:
    few = sum(one.count.sets < reading.policy.min_sets for one in reading.places)
    if not few:
        return ""
    return ngettext(
        "{count} place has fewer than {least} sets: counts only, no percentage.",
        "{count} places have fewer than {least} sets: counts only, no percentage.",
        few,
    ).format(count=few, least=reading.policy.min_sets)


def _one_person_words(reading: PlacesReading) -> str:
    alone = [one.count.name for one in reading.places if one.count.one_person]
    if not alone:
        return ""
    return _("{names}: one person drew everything that has a known collector, so no percentage is shown here.").format(
        names=", ".join(alone[:MOST_NAMED])
    )


def _empty_words(empty: Sequence[str]) -> str:
    if not empty:
        return ""
    return _("Without a single set, and therefore left out: {names}.").format(names=", ".join(empty[:12]))


def _mix_words(reading: PlacesReading) -> str:
    if not reading.places:
        return ""
    return _(
        "What is compared here may differ in patients, hours and how blood is drawn as well; these are shares as they "
        "were counted. The comparison with these allowed for is a question of its own."
    )
