"""The bedside card in aeroplane mode: the story's case, the refusals, and the same numbers as Python everywhere."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, timedelta

import pytest

from cubital.bedside.answering import answer_plan, answer_split
from cubital.bedside.volume import NoPlan, Patient, implausible, is_child, plan_adult, plan_child
from cubital.papers.card_page import build_card

pytestmark = pytest.mark.browser
WEIGHTS = [0.3, 0.4, 0.8, 1.05, 1.1, 2.05, 2.1, 2.9, 3.3, 4.7, 6.4, 7.35, 9.99, 12.7, 12.8, 15.5, 20, 27.3, 36.3, 36.4,
           45, 64, 70, 88.8, 120, 200]  # fmt: skip
AGES = [0, 0.5, 1, 2, 3.7, 5.9, 6, 7, 11.5, 12, 24, 35.9, 60, 119, 120.9, 121, 180, 215.9, 216, 480, 900]
HAEMOGLOBINS = [None, 4.4, 7.1, 7.9999, 8, 8.1, 11.44094, 15]
TAKEN = [0, 0.7, 3, 9, 14.3, 22, 45, 60.5]
AT_HAND = [(), ("paediatric",), ("child_aerobic",), ("adult_aerobic",), ("adult_anaerobic",),
           ("child_aerobic", "paediatric"), ("adult_aerobic", "adult_anaerobic")]  # fmt: skip


def fill_in(phone, *, weight, unit="kg", age="7", haemoglobin="7.1", haemoglobin_unit="g/dL", taken="9"):
    phone.fill("#weight", weight)
    phone.click(f'label:has(input[value="{unit}"])')
    phone.fill("#age", age)
    phone.click('label:has(input[value="months"])')
    phone.fill("#hb", haemoglobin)
    if haemoglobin_unit:
        phone.click(f'label:has(input[value="{haemoglobin_unit}"])')
    phone.fill("#taken", taken)
    phone.click("button.main")
    return phone.text_content("#plan-result .say")


def test_the_infant_of_the_story_gets_pythons_sentence(phone, policy):
    patient = Patient(weight_kg=6.4, age_months=7, haemoglobin_g_dl=7.1, taken_ml=9)
    expected = answer_plan(policy, patient, today=policy.approved_on).sentence
    assert fill_in(phone, weight="6.4") == expected


def test_the_unit_of_haemoglobin_is_asked_and_both_meanings_said(phone):
    words = fill_in(phone, weight="6.4", haemoglobin_unit=None)
    assert "7.1 g/dL" in words
    assert "11.4 g/dL" in words


@pytest.mark.parametrize(("weight", "unit"), [("6.4", "lb"), ("64", "kg")])
def test_an_implausible_weight_stops_without_a_number(phone, weight, unit):
    words = fill_in(phone, weight=weight, unit=unit)
    assert words.startswith("EXAMPLE. Check weight, unit and age")
    assert "mL" not in words


def test_a_haemoglobin_in_the_wrong_unit_is_asked_again_not_taken_for_plenty(phone):
    words = fill_in(phone, weight="6.4", haemoglobin="71", haemoglobin_unit="g/dL")
    assert words.startswith("EXAMPLE. In which unit is the haemoglobin of 71?")
    assert "mL" not in words


def test_the_card_too_says_that_a_bottle_stays_below_its_minimum(phone, policy):
    phone.click('label:has(input[value="child_aerobic"])')
    patient = Patient(weight_kg=1.0, age_months=0, haemoglobin_g_dl=None, taken_ml=0)
    expected = answer_plan(policy, patient, today=policy.approved_on, bottle_keys=("child_aerobic",)).sentence
    assert "below this bottle's minimum" in expected
    assert fill_in(phone, weight="1.0", age="0", haemoglobin="", haemoglobin_unit=None, taken="0") == expected


def test_a_policy_with_a_limit_inside_an_age_group_shows_every_rule_with_its_ages(chromium, policy, tmp_path):
    early, late = policy.skin
    month = replace(early.to_months, value=1.0)
    skin = (replace(early, to_months=month), replace(late, from_months=month))
    path = tmp_path / "skin.html"
    path.write_text(build_card(replace(policy, skin=skin), today=policy.approved_on), encoding="utf-8")
    page = chromium.new_page()
    page.goto(path.as_uri())
    page.click('button[data-open="timers"]')
    page.click('label:has(input[value="newborn"])')
    words = page.text_content("#timer-result .say")
    assert f"0 – 1 months: {early.agent}" in words
    assert f"1 – 2 months: {late.agent}" in words
    page.click('label:has(input[value="child"])')
    assert page.text_content("#timer-result .say") == f"EXAMPLE. {late.agent}."
    page.close()


def test_a_card_without_a_table_for_children_equals_python(chromium, policy, tmp_path):
    adults = replace(policy, child=None)
    path = tmp_path / "adults.html"
    path.write_text(build_card(adults, today=policy.approved_on), encoding="utf-8")
    page = chromium.new_page()
    page.goto(path.as_uri())
    cases = [(weight, age, None, 0, ()) for weight, age in ((6.4, 7), (20, 72), (60, 215.9), (60, 216), (24, 300))]
    card = page.evaluate(CARD_LINES, [cases, policy.approved_on.isoformat()])
    assert card == list(python_lines(adults, cases))
    assert card[:3] == ["no_table||"] * 3
    page.close()


@pytest.mark.parametrize("weight", ["6,4", "-6", "six", "", "1e3"])
def test_what_could_be_misread_is_refused(phone, weight):
    assert fill_in(phone, weight=weight) == "EXAMPLE. Weight: type a number with a point, such as 6.4."


def test_a_changed_input_takes_the_number_away(phone):
    fill_in(phone, weight="6.4")
    phone.fill("#weight", "6.5")
    assert phone.inner_text("#plan-result") == ""


@pytest.mark.parametrize("got", [1, 5, 9, 12, 14, 18, 23])
def test_the_short_draw_slider_says_pythons_sentence(phone, policy, got):
    phone.click('button[data-open="short"]')
    phone.evaluate(
        "got => { const s = document.getElementById('got'); s.value = got; s.dispatchEvent(new Event('input')); }", got
    )
    expected = answer_split(policy, got, today=policy.approved_on).sentence
    assert phone.text_content("#split-result .say") == expected


@pytest.mark.parametrize("shift", [-1, 101])
def test_outside_its_days_the_card_shows_no_number(chromium, policy, tmp_path, shift):
    past = replace(
        policy,
        approved_on=policy.approved_on - timedelta(days=400 if shift > 0 else -400),
        review_by=policy.review_by - timedelta(days=400 if shift > 0 else -400),
    )
    path = tmp_path / "old.html"
    path.write_text(build_card(past, today=past.approved_on), encoding="utf-8")
    page = chromium.new_page()
    page.goto(path.as_uri())
    words = fill_in(page, weight="6.4")
    assert words.startswith("EXAMPLE. No number")
    assert page.text_content("#split-result .say").startswith("EXAMPLE. No number")
    page.close()


def test_a_draft_gives_no_card():
    from cubital.bedside.policy_file import example_policy
    from cubital.domain.errors import PolicyProblem

    with pytest.raises(PolicyProblem, match="nobody has approved"):
        build_card(example_policy(), today=date(2026, 1, 1))


def test_every_output_carries_deference_and_example_mark(phone):
    fill_in(phone, weight="6.4")
    phone.click('button[data-open="short"]')
    phone.click('button[data-open="step"]')
    phone.click("#step-list button >> nth=0")
    for box in ("#plan-result", "#split-result", "#step-result"):
        words = phone.text_content(box)
        assert "Follow local policy and your scope of practice" in words
        assert "EXAMPLE" in words


def test_targets_are_large_enough_for_a_gloved_thumb(phone):
    # WCAG 2.2, 2.5.5 Target Size (Enhanced): 44 by 44 CSS pixels.
    small = phone.evaluate(
        """() => [...document.querySelectorAll('button, .choices span, input[type=text], input[type=range]')]
            .filter(e => e.offsetParent !== null)
            .map(e => [e.textContent || e.id, e.getBoundingClientRect()])
            .filter(([, box]) => box.height < 44 || box.width < 44).map(([name]) => name)"""
    )
    assert small == []


def test_spanish_says_everything_in_spanish(phone):
    phone.click("#language")
    assert phone.get_attribute("html", "lang") == "es"
    left = phone.evaluate(
        """() => { const w = JSON.parse(document.getElementById('card-words').textContent);
            return Object.keys(w.en).filter(k => w.en[k] === w.es[k]); }"""
    )
    assert left == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_card(chromium, card_file, scheme):
    from axe_playwright_python.sync_playwright import Axe

    context = chromium.new_context(viewport={"width": 390, "height": 844}, color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    page.goto(card_file.as_uri())
    for name in ("volume", "short", "timers", "label", "step"):
        page.click(f'button[data-open="{name}"]')
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
    context.close()


def python_lines(policy, cases):
    """One line per case in the shape of the card's own results."""
    for weight, age, haemoglobin, taken, keys in cases:
        patient = Patient(weight_kg=weight, age_months=age, haemoglobin_g_dl=haemoglobin, taken_ml=taken)
        if implausible(policy, patient):
            yield "implausible"
            continue
        found = (plan_child if is_child(policy, age) else plan_adult)(policy, patient, keys)
        steps = ",".join(f"{step.value!r}" for step in found.steps)
        if isinstance(found, NoPlan):
            yield f"{found.reason}|{found.detail}|{steps}"
        else:
            amounts = ",".join(f"{key}={amount!r}" for key, amount in found.amounts)
            yield f"{found.total_ml!r}|{amounts}|{found.discuss}|{found.limited_by}|{steps}"


CARD_LINES = """([cases, today]) => {
  const policy = JSON.parse(document.getElementById('card-policy').textContent);
  const number = x => Number.isInteger(x) ? x.toFixed(1) : String(x);
  return cases.map(([weightKg, ageMonths, haemoglobin, takenMl, keys]) => {
    const f = CubitalNumbers.plan(policy, { weightKg, ageMonths, haemoglobin, takenMl }, keys, today);
    if (f.refusal === 'implausible') return 'implausible';
    const steps = Object.values(f.steps).map(number).join(',');
    if (f.refusal) return `${f.refusal}|${f.detail}|${steps}`;
    const amounts = f.amounts.map(([k, a]) => `${k}=${number(a)}`).join(',');
    return `${number(f.total)}|${amounts}|${f.discuss ? 'True' : 'False'}|${f.limitedBy}|${steps}`;
  });
}"""


def test_the_card_equals_python_over_the_whole_grid(phone, policy):
    grid = list(itertools.product(WEIGHTS, AGES, HAEMOGLOBINS, TAKEN, AT_HAND))
    assert len(grid) >= 200_000
    day = policy.approved_on.isoformat()
    for start in range(0, len(grid), 50_000):
        part = grid[start : start + 50_000]
        card = phone.evaluate(CARD_LINES, [part, day])
        python = list(python_lines(policy, part))
        wrong = [(case, mine, theirs) for case, mine, theirs in zip(part, python, card, strict=True) if mine != theirs]
        assert wrong[:3] == []


def test_both_draws_are_split_alike_from_zero_to_forty_millilitres(phone, policy):
    from cubital.bedside.split import Room, split_volume

    pair = [policy.bottle(policy.adult.aerobic), policy.bottle(policy.adult.anaerobic)]
    rooms = [Room(minimum_ml=b.minimum_ml.value, maximum_ml=b.maximum_ml.value) for b in pair]
    volumes = [tenth / 10 for tenth in range(401)]
    card = phone.evaluate(
        """volumes => { const p = JSON.parse(document.getElementById('card-policy').textContent);
            return volumes.map(v => { const f = CubitalNumbers.split(p, v); return [...f.amounts, f.unused]; }); }""",
        volumes,
    )
    expected = [[*split.amounts_ml, split.unused_ml] for split in (split_volume(volume, rooms) for volume in volumes)]
    assert card == expected


def test_a_clock_set_back_before_the_card_was_made_silences_it(chromium, policy, tmp_path):
    path = tmp_path / "made tomorrow.html"
    later = policy.approved_on + timedelta(days=40)
    path.write_text(build_card(policy, today=later), encoding="utf-8")
    page = chromium.new_page()
    page.goto(path.as_uri())
    words = fill_in(page, weight="6.4")
    assert words.startswith("EXAMPLE. No number: this card was made on")
    page.close()
