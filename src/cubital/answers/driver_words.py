"""Names of policy changes, of what they move, how strong the evidence is, and which share of draws they touch."""

from __future__ import annotations

from cubital.answers.missed_words import confidence_words
from cubital.domain.words import _, decimal_words, share_words
from cubital.reference.policy_drivers import Effect, Grade, Moves, PolicyDriver, Share


def change_words(key: str) -> str:
    """The change in a few words."""
    return {
        "line_draws": _("no draws from lines unless asked for"),
        "new_cannula": _("no draws from new cannulas"),
        "dedicated_team": _("a team that draws all of them"),
        "steps_and_kit": _("sterile steps, kit and checklist"),
        "sterile_gloves": _("sterile gloves as routine"),
        "diversion": _("divert the first millilitres"),
        "another_antiseptic": _("another antiseptic"),
        "second_set": _("always a second set"),
        "fuller_bottles": _("bottles filled as policy says"),
        "night_fill": _("fill checked at night"),
        "faster_transport": _("faster transport"),
        "name_the_collector": _("the collector named on every set"),
    }[key]


def moves_words(moves: Moves) -> str:
    """The number that is moved."""
    return {
        Moves.CONTAMINATION: _("contaminated sets"),
        Moves.INFECTIONS: _("infections found"),
        Moves.FILL: _("fill of the bottles"),
        Moves.REPORTS: _("what can be said of roles"),
    }[moves]


def grade_words(grade: Grade, *, short: bool = False) -> str:
    """How it was studied, and what that is worth; ``short`` in one or two words."""
    if short:
        return {
            Grade.TRIAL: _("trial"), Grade.PAIRED: _("matched pairs"), Grade.POOLED: _("pooled studies"),
            Grade.BEFORE_AFTER: _("before and after"), Grade.OBSERVED: _("seen together"),
        }[grade]  # fmt: skip
    return {
        Grade.TRIAL: _("trial: allotted by chance; the strongest here"),
        Grade.PAIRED: _("matched pairs: alike but for one thing, not allotted; fairly strong"),
        Grade.POOLED: _("pooled studies that differ from each other; middling"),
        Grade.BEFORE_AFTER: _("before and after: other changes are in it; weak"),
        Grade.OBSERVED: _("seen together, not tested; weak"),
    }[grade]


def effect_words(driver: PolicyDriver) -> str:
    """The published size with its range."""
    if driver.value is None or driver.low is None or driver.high is None:
        return {
            "second_set": _("found with 1, 2, 3 sets: 73, 90, 98 %"),
            "fuller_bottles": _("by models that disagree"),
            "night_fill": _("less in the bottles at night; no size read"),
            "faster_transport": _("odds of growth times 0.997 for each hour (0.994 to 1.001)"),
            "name_the_collector": _("no effect on a rate"),
        }[driver.key]
    value, low, high = (decimal_words(f"{number:g}") for number in (driver.value, driver.low, driver.high))
    words = (
        _("{value} times as often contaminated where it is done ({low} to {high})")
        if driver.effect is Effect.TIMES
        else _("{value} of the rate left ({low} to {high})")
    )
    return words.format(value=value, low=low, high=high)


def share_of_words(share: Share, value: float | None) -> str:
    """The local share that is touched."""
    if share is Share.ALL:
        return _("every draw")
    if value is None:
        return _("not known here")
    words = {
        Share.LINE: _("{share} of sets from lines"),
        Share.NEW_CANNULA: _("{share} of sets from new cannulas"),
        Share.NIGHT: _("{share} of sets at night, 19 to 7 h"),
        Share.SINGLE: _("{share} of episodes with a single set"),
        Share.UNDER_FILLED: _("{share} of measured bottles under-filled"),
        Share.VERY_LATE: _("{share} of timed sets over the longer limit"),
        Share.UNATTRIBUTED: _("{share} of sets of nobody known"),
    }[share]
    return words.format(share=share_words(value))


def against_words(key: str) -> str:
    """What speaks against expecting the same here."""
    return {
        "line_draws": _(
            "the pooled studies print no interval that was read here; the range runs from matched pairs to the "
            "pooled mean"
        ),
        "new_cannula": _(
            "another study of cannulas less than an hour old saw no difference: odds ratio 0.9, 0.33 to 2.44 "
            "(Emerg Med Australas 2013;25:435-438)"
        ),
        "dedicated_team": _(
            "the studies differ very much from each other (I2 87 %); who is free to draw well also draws the easy"
            " ones; a preprint"
        ),
        "steps_and_kit": _(
            "procedure, kit and checklist came together; kits alone: mean odds ratio 1.12, most studies without a"
            " difference (Snyder 2012)"
        ),
        "sterile_gloves": _("interns of one hospital, at 1.1 % before: a low rate to begin with"),
        "diversion": _(
            "the studies differ very much from each other (I2 84 %), some are paid for by industry; a preprint; "
            "costs for every draw"
        ),
        "another_antiseptic": _(
            "in the second study all four antiseptics did better than the year before (0.82), alike: being "
            "watched and not the antiseptic"
        ),
        "second_set": _("series in which three sets were taken anyway"),
        "fuller_bottles": _("one campaign raised the fill and found no more (Ann Clin Microbiol, Korea 2020)"),
        "night_fill": _("seen together, and no size was read; what night changes besides is in it"),
        "faster_transport": _("hardly any effect on what grows; it brings the result earlier"),
        "name_the_collector": _(
            "moves no rate; it decides what can be said of roles and to whom feedback can be given"
        ),
    }[key]


def source_words(driver: PolicyDriver) -> str:
    """Where it was published and how it was come by."""
    if not driver.source:
        return _("common practice, no source")
    return _("{source} ({how})").format(source=driver.source, how=confidence_words(driver.confidence))
