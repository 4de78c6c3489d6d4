"""What was asked of the design before any rate was looked at, always in the same order."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.counted_words import capital
from cubital.answers.did_design import LEAST_DAYS, Design, DidDesign
from cubital.answers.did_material import DidMaterial
from cubital.answers.did_reading import ChangeReading, told_apart
from cubital.answers.did_words import change_words, weeks_words
from cubital.domain.answer import Check
from cubital.domain.diary import DiaryEntry
from cubital.domain.words import _, day_words, ngettext, number_words, share_words


def change_checks(reading: ChangeReading) -> tuple[Check, ...]:
    """The checks in their order; where the day lies outside the data, only what can be known without counts."""
    material, design = reading.material, reading.design
    return (
        _apart_check(reading),
        _meanwhile_check(design),
        _worst_check(design),
        _long_check(design),
        _counting_check(design),
        _inside_check(material, design),
    )


def _apart_check(reading: ChangeReading) -> Check:
    design = reading.design
    if design.kind is Design.OUTSIDE:
        return Check(
            key="identifiable", passed=None, words=_("Whether it can be told apart needs counts on both sides.")
        )
    if design.twins:
        names = _list(design.twins)
        if told_apart(reading):
            words = _("{names} began there on the same day; other units tell them apart.").format(names=names)
            return Check(key="identifiable", passed=True, words=words)
        words = _("{names} began there on the same day, and nothing tells them apart.").format(names=names)
        return Check(key="identifiable", passed=False, words=words)
    if design.peers:
        count = len(design.peers)
        words = ngettext(
            "{count} unit went through the same months with nothing begun.",
            "{count} units went through the same months with nothing begun.", count,
        ).format(count=number_words(count))  # fmt: skip
        return Check(key="identifiable", passed=count > 1, words=capital(words))
    return Check(
        key="identifiable", passed=False,
        words=_("No unit went through the same months without it: what would have come anyway is not known."),
    )  # fmt: skip


def _meanwhile_check(design: DidDesign) -> Check:
    if design.kind is Design.OUTSIDE:
        return Check(key="meanwhile", passed=None, words=_("What else changed meanwhile was not looked at."))
    if design.cutting:
        return Check(
            key="meanwhile", passed=False,
            words=_("Two things changed within a year: {names}. Only the days between are compared.").format(
                names=_list(design.cutting)
            ),
        )  # fmt: skip
    if design.shared:
        return Check(
            key="meanwhile", passed=False,
            words=_("{names} reached every unit in these months.").format(names=_list(design.shared)),
        )  # fmt: skip
    return Check(key="meanwhile", passed=True, words=_("The diary holds nothing else there in these months."))


def _worst_check(design: DidDesign) -> Check:
    visit = design.visit
    if visit is None or visit.before is None:
        return Check(
            key="worst", passed=None,
            words=_("Whether the place was chosen because it was worst cannot be seen from the counts."),
        )  # fmt: skip
    if not visit.was_worst:
        return Check(key="worst", passed=True, words=_("It was not the highest of all before."))
    words = _("It was the highest of all before. Selected because it was worst: some fall is expected anyway.")
    if visit.expected is not None:
        words = _(
            "It was the highest of all before. Selected because it was worst: some fall is expected anyway, to about "
            "{expected}."
        ).format(expected=share_words(visit.expected))
    return Check(key="worst", passed=False, words=words)


def _long_check(design: DidDesign) -> Check:
    window = design.window
    if window is None:
        return Check(key="long", passed=None, words=_("There are no two sides to measure."))
    if design.kind is Design.THIN:
        return Check(key="long", passed=False, words=_("There are too few sets on one side."))
    before, after = weeks_words(window.days_before), weeks_words(window.days_after)
    passed = min(window.days_before, window.days_after) >= LEAST_DAYS
    words = (
        _("{before} before and {after} since are compared.")
        if passed
        else _("{before} before and {after} since are too short; {least} weeks on either side are the least.")
    ).format(before=before, after=after, least=LEAST_DAYS // 7)
    return Check(key="long", passed=passed, words=capital(words))


def _counting_check(design: DidDesign) -> Check:
    if design.kind is Design.OUTSIDE:
        return Check(key="counting", passed=None, words=_("Whether the way of counting changed was not looked at."))
    if design.counting:
        return Check(
            key="counting", passed=False,
            words=_("Definition changed here: {names}. A jump there may be that alone.").format(
                names=_list(design.counting)
            ),
        )  # fmt: skip
    return Check(
        key="counting", passed=True,
        words=_("One charter judges all months, and the diary holds no change of analyser or list among them."),
    )  # fmt: skip


def _inside_check(material: DidMaterial, design: DidDesign) -> Check:
    span = _("The sets there run from {first} to {last}").format(
        first=day_words(material.first), last=day_words(material.last)
    )
    if design.kind is Design.OUTSIDE:
        words = _("{span}: the day lies outside.").format(span=span)
        return Check(key="inside", passed=False, words=words)
    return Check(key="inside", passed=True, words=_("{span}.").format(span=span))


def _list(entries: Sequence[DiaryEntry]) -> str:
    return "; ".join(dict.fromkeys(change_words(entry) for entry in entries))
