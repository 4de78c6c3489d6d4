"""Bedside results as answers: the sentence first, the number with its unit, the cautions of the policy."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cubital import __version__
from cubital.bedside.permission import marked, policy_cautions, why_silent
from cubital.bedside.split import Room, Split, split_volume
from cubital.bedside.volume import NoPlan, Patient, Plan, Refusal, Step, implausible, is_child, plan_adult, plan_child
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.collection import BottleSpec, CollectionPolicy
from cubital.domain.cultures import BottleKind
from cubital.domain.words import _, decimal_words


def ml_words(volume_ml: float) -> str:
    """A volume as ``6 mL`` or ``6.4 mL``."""
    return f"{decimal_words(f'{volume_ml:g}')} mL"


def policy_receipt(policy: CollectionPolicy) -> Receipt:
    """What a bedside answer rests on; nothing about a patient."""
    return Receipt(data="bedside", charter="", policy=f"{policy.name}, version {policy.version}", code=__version__)


def refused(question: str, sentence: str, policy: CollectionPolicy, *, figures: Sequence[Figure] = ()) -> Answer:
    """A refusal as an answer, with the policy's cautions under it."""
    return Answer(
        question=question,
        verdict=Verdict.REFUSED,
        sentence=marked(policy, sentence),
        figures=tuple(figures),
        cautions=policy_cautions(policy),
        receipt=policy_receipt(policy),
    )


def answer_split(policy: CollectionPolicy, got_ml: float, *, today: date) -> Answer:
    """What goes where, for one adult set of which ``got_ml`` was obtained (question 34)."""
    question = _("What goes where?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    aerobic, anaerobic = policy.bottle(policy.adult.aerobic), policy.bottle(policy.adult.anaerobic)
    split = split_volume(got_ml, [_room(aerobic), _room(anaerobic)])
    first, second = split.amounts_ml
    return Answer(
        question=question,
        verdict=Verdict.ESTIMATE,
        sentence=marked(policy, _split_sentence(split, got_ml, aerobic)),
        figures=(
            _volume("aerobic_ml", aerobic.name, first, definition=_limits_words(aerobic)),
            _volume("anaerobic_ml", anaerobic.name, second, definition=_limits_words(anaerobic)),
            _volume("unused_ml", _("not used"), split.unused_ml),
        ),
        cautions=policy_cautions(policy),
        receipt=policy_receipt(policy),
    )


def _room(bottle: BottleSpec) -> Room:
    return Room(minimum_ml=bottle.minimum_ml.value, maximum_ml=bottle.maximum_ml.value)


def _limits_words(bottle: BottleSpec) -> str:
    return _("{low} to {high} by local policy").format(
        low=ml_words(bottle.minimum_ml.value), high=ml_words(bottle.maximum_ml.value)
    )


def _volume(key: str, label: str, value: float, *, definition: str = "") -> Figure:
    return Figure(key=key, label=label, value=value, unit="mL", definition=definition)


def _split_sentence(split: Split, got_ml: float, aerobic: BottleSpec) -> str:
    first, second = split.amounts_ml
    if first == 0:
        return _("Nothing to share: no blood was obtained.")
    sentence = _("Of {got}: {first} into the aerobic bottle, {second} into the anaerobic.").format(
        got=ml_words(got_ml), first=ml_words(first), second=ml_words(second)
    )
    if split.short:
        sentence += " " + _short_words(aerobic)
    elif second == 0:
        sentence += " " + _("All in one: a split would leave a bottle below its minimum.")
    if split.unused_ml:
        sentence += " " + _("{unused} are not used: no bottle above its maximum.").format(
            unused=ml_words(split.unused_ml)
        )
    return sentence


def answer_plan(policy: CollectionPolicy, patient: Patient, *, today: date, bottle_keys: Sequence[str] = ()) -> Answer:
    """How much and how split, for one patient (question 33); a refusal with its reason where policy gives no number."""
    question = _("How much blood, and into which bottles?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    if span := implausible(policy, patient):
        return refused(
            question,
            _("Check weight, unit and age: at this age {span} is plausible. No number until they agree.").format(
                span=span
            ),
            policy,
        )
    for key in bottle_keys:
        policy.bottle(key)  # an unknown bottle is refused, not ignored
    plan = plan_child if is_child(policy, patient.age_months) else plan_adult
    found = plan(policy, patient, bottle_keys)
    if isinstance(found, NoPlan):
        return refused(question, _refusal_words(found), policy, figures=step_figures(found.steps))
    return _planned(question, policy, found)


def step_figures(steps: Sequence[Step]) -> tuple[Figure, ...]:
    """The arithmetic as figures: label how, value what."""
    return tuple(
        Figure(key=step.key, label=STEP_LABELS[step.key], value=round(step.value, 6), unit="mL", definition=step.words)
        for step in steps
    )


STEP_LABELS = {
    "blood_volume_ml": "estimated blood volume",
    "single_cap_ml": "most in a single draw",
    "single_cap_used_ml": "most in this draw",
    "day_cap_ml": "most in 24 hours",
    "day_left_ml": "left for today",
}


def _refusal_words(found: NoPlan) -> str:
    discuss = _("Discuss with the responsible clinician.")
    words = {
        Refusal.NO_TABLE: _("No number: the policy has no table for children."),
        Refusal.OUTSIDE_TABLE: _("No number: this weight or age is outside the policy's table."),
        Refusal.NO_BOTTLE: _("No number: none of the bottles at hand is in the policy for this patient."),
        Refusal.CAP_REACHED: _("No number: the smallest useful volume would pass the limit ({limit}).").format(
            limit=_("24 hours") if found.detail == "day" else _("single draw")
        ),
    }
    return f"{words[found.reason]} {discuss}"


def _planned(question: str, policy: CollectionPolicy, plan: Plan) -> Answer:
    used = [(policy.bottle(key), amount) for key, amount in plan.amounts if amount > 0]
    figures = (
        _volume("plan_total_ml", _("plan, at most"), plan.total_ml),
        *(_volume(f"{b.key}_ml", b.name, amount, definition=_limits_words(b)) for b, amount in used),
        *step_figures(plan.steps),
    )
    discuss = (_("Low haemoglobin: discuss with the responsible clinician before you draw."),) if plan.discuss else ()
    return Answer(
        question=question,
        verdict=Verdict.ESTIMATE,
        sentence=marked(policy, _plan_sentence(plan, used)),
        figures=figures,
        cautions=(*discuss, *policy_cautions(policy)),
        table=_plan_table(plan),
        receipt=policy_receipt(policy),
    )


def _short_words(bottle: BottleSpec) -> str:
    return _(
        "That is below this bottle's minimum of {low}: send it, write the volume on it, and tell the laboratory."
    ).format(low=ml_words(bottle.minimum_ml.value))


def _plan_sentence(plan: Plan, used: Sequence[tuple[BottleSpec, float]]) -> str:
    if len(used) == 1:
        where = _("one {bottle}").format(bottle=used[0][0].name)
    else:
        where = ", ".join(f"{ml_words(amount)} {bottle.name}" for bottle, amount in used)
    total = ml_words(plan.total_ml)
    if plan.sets:
        sentence = _("Plan up to {total} for this set: {where}. Local policy asks for {sets} sets.").format(
            total=total, where=where, sets=f"{plan.sets:g}"
        )
    else:
        sentence = _("Plan up to {total} in total: {where}.").format(total=total, where=where)
    if plan.limited_by == "bottle" and len(used) == 1 and used[0][0].kind is BottleKind.PAEDIATRIC:
        sentence += " " + _("{total} is that bottle's limit.").format(total=ml_words(plan.total_ml))
    for bottle, amount in used:
        if amount < bottle.minimum_ml.value:
            sentence += " " + _short_words(bottle)
    if plan.below_table():
        sentence += " " + _("The policy's table asks for {low}: tell the laboratory.").format(low=ml_words(plan.low_ml))
    if plan.discuss:
        sentence += " " + _("Discuss with the responsible clinician: low haemoglobin.")
    return sentence


def _plan_table(plan: Plan) -> AnswerTable:
    return AnswerTable(
        title=_("How this was worked out"),
        columns=(_("step"), _("how"), "mL"),
        rows=tuple((STEP_LABELS[step.key], step.words, round(step.value, 2)) for step in plan.steps),
    )
