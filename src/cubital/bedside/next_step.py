"""Timers, kit and the policy's next permitted step: look-ups in an approved policy, never advice of our own."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cubital.bedside.answering import policy_receipt, refused
from cubital.bedside.permission import marked, policy_cautions, why_silent
from cubital.domain.answer import Answer, AnswerTable, Figure, Verdict
from cubital.domain.collection import CollectionPolicy, DeviceRule, SkinRule
from cubital.domain.errors import PolicyProblem
from cubital.domain.words import _


@dataclass(frozen=True, kw_only=True)
class Need:
    """One line of a kit list."""

    item: str
    count: int


def skin_rule(policy: CollectionPolicy, age_months: float) -> SkinRule | None:
    """The antisepsis rule of that age; none where the policy has none."""
    for rule in policy.skin:
        if rule.from_months.value <= age_months < rule.to_months.value:
            return rule
    return None


def device_rule(policy: CollectionPolicy, key: str) -> DeviceRule:
    """The rule of a collecting device; ``PolicyProblem`` for one the policy does not know."""
    for device in policy.devices:
        if device.key == key:
            return device
    known = ", ".join(device.key for device in policy.devices)
    raise PolicyProblem(f"the policy knows no device '{key}'.", fix=f"Known are: {known}.")


def kit_list(device: DeviceRule, sets: int) -> tuple[Need, ...]:
    """What to take for so many sets with this device: once per patient, and once per set."""
    if not 1 <= sets <= 4:
        raise PolicyProblem(f"a kit for {sets} sets cannot be.", fix="Ask for one to four sets.")
    return (
        *(Need(item=item, count=1) for item in device.kit),
        *(Need(item=item, count=sets) for item in device.kit_per_set),
    )


def answer_timers(policy: CollectionPolicy, age_months: float, *, today: date) -> Answer:
    """Friction and dry time at this age, from the policy."""
    question = _("Which antiseptic, how long?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    rule = skin_rule(policy, age_months)
    if rule is None:
        return refused(question, _("No time: the policy says nothing for this age."), policy)
    caution = (rule.caution,) if rule.caution else ()
    tops = policy.bottle_tops
    return Answer(
        question=question,
        verdict=Verdict.ESTIMATE,
        sentence=marked(
            policy,
            _("{agent}: rub for {friction} seconds, let dry for {dry} seconds. Do not touch the site again.").format(
                agent=rule.agent, friction=f"{rule.friction_s.value:g}", dry=f"{rule.dry_s.value:g}"
            ),
        ),
        figures=(
            _seconds("friction_s", _("rub"), rule.friction_s.value),
            _seconds("dry_s", _("let dry"), rule.dry_s.value),
            _seconds("top_friction_s", _("bottle top, rub"), tops.friction_s.value),
            _seconds("top_dry_s", _("bottle top, let dry"), tops.dry_s.value),
        ),
        cautions=(*caution, *policy_cautions(policy)),
        receipt=policy_receipt(policy),
    )


def _seconds(key: str, label: str, value: float) -> Figure:
    return Figure(key=key, label=label, value=value, unit="s")


def answer_step(policy: CollectionPolicy, situation: str, *, today: date) -> Answer:
    """The policy's next permitted step in a situation, with its section."""
    question = _("What now?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    for rule in policy.steps:
        if rule.key == situation:
            return Answer(
                question=rule.situation,
                verdict=Verdict.ESTIMATE,
                sentence=marked(
                    policy, _("{step} (section {section})").format(step=rule.next_step, section=rule.section)
                ),
                cautions=policy_cautions(policy),
                receipt=policy_receipt(policy),
            )
    known = ", ".join(rule.key for rule in policy.steps)
    raise PolicyProblem(f"the policy has no step for '{situation}'.", fix=f"Known are: {known}.")


def answer_kit(policy: CollectionPolicy, device_key: str, *, sets: int, today: date) -> Answer:
    """What to take, and which bottle is filled first (question 35)."""
    question = _("What to take, and which bottle first?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    device = device_rule(policy, device_key)
    first = {"aerobic": _("aerobic"), "anaerobic": _("anaerobic"), "paediatric": _("paediatric")}[device.first.value]
    return Answer(
        question=question,
        verdict=Verdict.ESTIMATE,
        sentence=marked(
            policy,
            _("With a {device}: the {bottle} bottle first, because {why}.").format(
                device=device.name, bottle=first, why=device.why
            ),
        ),
        cautions=policy_cautions(policy),
        table=AnswerTable(
            title=_("Kit"),
            columns=(_("item"), _("how many")),
            rows=tuple((need.item, need.count) for need in kit_list(device, sets)),
        ),
        receipt=policy_receipt(policy),
    )
