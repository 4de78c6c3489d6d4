"""The words of the bedside card in every language it carries; the same sentences as the answers have."""

from __future__ import annotations

from cubital.domain.words import LANGUAGES, _, choose_language, current_language


def card_words() -> dict[str, dict[str, str]]:
    """Key to words, by language. The language in force is put back."""
    before = current_language()
    try:
        found = {}
        for language in LANGUAGES:
            choose_language(language)
            found[language] = {**_labels(), **_sentences(), **_steps()}
        return found
    finally:
        choose_language(before)


def _labels() -> dict[str, str]:
    return {
        "title": _("Blood for culture, at the bedside"),
        "other_language": _("Español"),
        "dark_room": _("Dark room"),
        "volume_title": _("How much blood?"),
        "weight": _("Weight"),
        "unit_weight": _("Unit of the weight"),
        "age": _("Age"),
        "unit_age": _("Age in"),
        "months": _("months"),
        "years": _("years"),
        "hb": _("Haemoglobin, if known"),
        "unit_hb": _("Unit of the haemoglobin"),
        "taken": _("Blood already taken in 24 hours, mL (0 if none)"),
        "at_hand": _("Bottles to hand (all, if none is chosen)"),
        "how_much": _("How much?"),
        "short_title": _("I only got so much"),
        "got": _("Millilitres obtained"),
        "timers_title": _("Rub and dry"),
        "who": _("Who is it?"),
        "newborn": _("under 2 months"),
        "child": _("child"),
        "adult": _("adult"),
        "rub": _("rub"),
        "dry": _("let dry"),
        "top_rub": _("bottle top, rub"),
        "top_dry": _("bottle top, let dry"),
        "done": _("done"),
        "label_title": _("Where the label goes"),
        "step_title": _("What now?"),
        "nav_volume": _("Volume"),
        "nav_short": _("Short draw"),
        "nav_timers": _("Timers"),
        "nav_label": _("Label"),
        "nav_step": _("What now?"),
        "worked_out": _("How this was worked out"),
        "example": _("EXAMPLE policy of an invented hospital: not for patients."),
    }


def _sentences() -> dict[str, str]:
    return {
        "label_rule": _(
            "Leave the maker's barcode and the fill scale free. Check the scan on the laboratory's own reader."
        ),
        "deferral": _(
            "Follow local policy and your scope of practice; ask the responsible clinician or laboratory when they "
            "differ."
        ),
        "example_sentence": _("EXAMPLE. {sentence}"),
        "need_number": _("{what}: type a number with a point, such as 6.4."),
        "ask_weight_unit": _("Is the weight in kg or lb?"),
        "ask_age_unit": _("Is the age in months or years?"),
        "ask_hb_unit": _(
            "In which unit is the haemoglobin of {value}? As g/dL it is {value} g/dL; as mmol/L it would be {other} "
            "g/dL."
        ),
        "plan": _("Plan up to {total} in total: {where}."),
        "plan_set": _("Plan up to {total} for this set: {where}. Local policy asks for {sets} sets."),
        "below_table": _("The policy's table asks for {low}: tell the laboratory."),
        "silent_clock": _("No number: this card was made on {day}. Check this device's clock."),
        "one_bottle": _("one {bottle}"),
        "bottle_limit": _("{total} is that bottle's limit."),
        "discuss_low": _("Discuss with the responsible clinician: low haemoglobin."),
        "discuss": _("Discuss with the responsible clinician."),
        "implausible": _("Check weight, unit and age: at this age {span} is plausible. No number until they agree."),
        "no_table": _("No number: the policy has no table for children."),
        "outside_table": _("No number: this weight or age is outside the policy's table."),
        "no_bottle": _("No number: none of the bottles at hand is in the policy for this patient."),
        "cap_reached": _("No number: the smallest useful volume would pass the limit ({limit})."),
        "limit_day": _("24 hours"),
        "limit_single": _("single draw"),
        "silent_draft": _("No number: nobody has approved this policy yet."),
        "silent_future": _("No number: this policy is approved from {day} on. Check this device's clock."),
        "silent_expired": _("No number: this policy was due for review on {day} and has not been approved again."),
        "no_time": _("No time: the policy says nothing for this age."),
        "split": _("Of {got}: {first} into the aerobic bottle, {second} into the anaerobic."),
        "split_short": _(
            "That is below this bottle's minimum of {low}: send it, write the volume on it, and tell the laboratory."
        ),
        "split_one": _("All in one: a split would leave a bottle below its minimum."),
        "split_unused": _("{unused} are not used: no bottle above its maximum."),
        "section": _("section {section}"),
    }


def _steps() -> dict[str, str]:
    return {
        "step_volume": _("estimated blood volume"),
        "step_single": _("most in a single draw"),
        "step_singleUsed": _("most in this draw"),
        "step_day": _("most in 24 hours"),
        "step_left": _("left for today"),
    }
