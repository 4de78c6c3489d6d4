"""Trials in a workspace: sealed before their data, looked at as often as is spent, compared with what was written."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date, timedelta

import pytest

from cubital.answers.trial_ask import IccSource
from cubital.domain.answer import Verdict
from cubital.domain.diary import ChangeKind
from cubital.domain.errors import RequestProblem, WorkspaceProblem
from cubital.domain.trial import TrialDesign, build_plan_dict
from cubital.workspace import records
from cubital.workspace.batches import list_changes
from cubital.workspace.charters import current_charter, save_charter, sign_charter
from cubital.workspace.diary import note_entry
from cubital.workspace.left_tables import list_left_tables
from cubital.workspace.opening import open_workspace
from cubital.workspace.reproducing import Sameness, again
from cubital.workspace.trial_drafts import TrialWords, draft_plan
from cubital.workspace.trial_looks import compare_with_protocol, list_looks, look_at_trial, trial_result
from cubital.workspace.trial_papers import print_result
from cubital.workspace.trial_planning import TrialRequest, plan_trial
from cubital.workspace.trials import get_protocol, list_protocols, plan_from_file, seal_protocol
from cubital.workspace.units import rename_unit
from places_world import MARROWBY
from places_world import UNITS as WORLD
from postgres_server import ON_SERVER
from trial_world import START, UNITS, take_after, take_before

WORDS = TrialWords(name="Kit trial", new="kit", decides="value analysis", meaningful=0.01, exclusions=("children",))
BY = {"by": "A. Educator", "role": "practice educator"}


def request(**changes):
    values = {"start": START, "relative_risk": 0.6, "facility": MARROWBY, "units": UNITS, "seed": 7, "weeks": 20}
    return TrialRequest(**{**values, **changes})


def drafted(workspace, words=WORDS, **changes):
    return draft_plan(workspace, plan_trial(workspace, request(**changes)), words)


@pytest.fixture(scope="module")
def half_a_year(tmp_path_factory):
    """The folder of a workspace with half a year of data."""
    folder = tmp_path_factory.mktemp("half") / "workspace"
    with open_workspace(folder) as opened:
        take_before(opened, folder.parent / "files")
    return folder


@pytest.fixture
def before(half_a_year, tmp_path):
    """A workspace of one's own with half a year of data."""
    if not ON_SERVER:  # a copied folder would share its records on the server
        shutil.copytree(half_a_year, tmp_path / "workspace")
    with open_workspace(tmp_path / "workspace") as opened:
        if ON_SERVER:
            take_before(opened, tmp_path / "files")
        yield opened


@pytest.fixture(scope="module")
def sealed(tmp_path_factory):
    """A trial sealed before its data, looked at twice; the second half came in two files."""
    folder = tmp_path_factory.mktemp("trials")
    with open_workspace(folder / "workspace") as opened:
        take_before(opened, folder / "files")
        seal_protocol(opened, plan=drafted(opened), **BY)
        yield opened, folder


def test_size_volume_and_rate_come_from_the_workspace(before):
    """Six months: ED 40 of 480, ICU 4 of 300, 3 North 4 of 300 contaminated."""
    planned = plan_trial(before, request(weeks=None))
    assert planned.answer.verdict is Verdict.ESTIMATE
    assert planned.power == 0.8
    ask = planned.reading.ask
    assert ask.baseline == pytest.approx(48 / 1080)
    assert ask.per_month == pytest.approx(180)
    assert ask.icc_source is IccSource.LEARNT
    assert planned.sets_per_arm > planned.reading.uncorrected
    assert planned.answer.receipt.data.startswith("batch 1")
    worst = next(check for check in planned.answer.checks if check.key == "worst")
    assert worst.passed is False
    assert worst.words.startswith("ED is the highest of all units.")


def test_less_time_than_the_size_takes_is_planned_for_what_it_is_worth(before):
    """20 weeks at 180 sets a month: 413 sets in each arm instead of 1,700, and the power that those have."""
    planned = plan_trial(before, request())
    assert planned.sets_per_arm == 413
    assert 0.05 < planned.power < 0.4
    assert draft_plan(before, planned, WORDS).power == planned.power
    assert any(one.startswith("In 20 weeks this fall would be found in") for one in planned.answer.cautions)


def test_a_trial_of_every_unit_needs_no_names_and_takes_as_long_as_its_size(before):
    planned = plan_trial(before, request(units=(), weeks=None))
    assert {unit.place for unit in planned.units} == {"ED", "ICU", "3 North", "Dialysis", "Clinic"}
    weeks = ((planned.stretches[-1].last - START).days + 1) / 7
    months = 2 * planned.sets_per_arm / planned.reading.ask.per_month
    assert weeks == pytest.approx(months * 365.25 / 84, abs=2)
    assert not any(check.key == "worst" for check in planned.answer.checks)


def test_what_a_before_and_after_could_not_be_told_from_is_named(before):
    note_entry(before, kind=ChangeKind.STAFFING, on=START, words="New shift", facility=MARROWBY)
    planned = plan_trial(before, request())
    assert planned.answer.verdict is Verdict.ESTIMATE
    assert any(
        one == "A plain before and after could not be separated from: New shift (7 July 2025)."
        for one in planned.answer.cautions
    )


def test_a_correlation_of_ones_own_is_taken_as_it_is(before):
    ask = plan_trial(before, request(icc=0.02)).reading.ask
    assert (ask.icc, ask.icc_range, ask.icc_source) == (0.02, (0.02, 0.02), IccSource.GIVEN)


def test_a_seed_that_nobody_gave_is_drawn_and_said(before):
    planned = plan_trial(before, request(seed=None))
    assert plan_trial(before, request(seed=planned.seed)).stretches == planned.stretches


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"relative_risk": None}, "what is hoped for"),
        ({"expected": 0.01}, "what is hoped for"),
        ({"units": ("Nowhere",)}, "no unit"),
        ({"weeks": 1}, "is none"),
        ({"weeks": 1000}, "do not fit"),
        ({"design": TrialDesign.STEPPED, "weeks": 3, "icc": 0.0}, "do not fit"),
    ],
)
def test_requests_that_make_no_sense_are_refused(before, changes, said):
    with pytest.raises(RequestProblem, match=said):
        plan_trial(before, request(**changes))


@pytest.mark.parametrize("changes", [{"relative_risk": 1.2}, {"relative_risk": 1.0}, {"baseline": 0.0}])
def test_what_is_no_benefit_is_refused_and_cannot_be_sealed(before, changes):
    planned = plan_trial(before, request(**changes))
    assert planned.answer.verdict is Verdict.REFUSED
    with pytest.raises(RequestProblem):
        draft_plan(before, planned, WORDS)


@pytest.mark.parametrize(
    ("changes", "said"),
    [({"name": " "}, "needs a name"), ({"decides": ""}, "decides"),
     ({"usual": "KIT"}, "called the same"),
     ({"question": "x" * 900}, "too long"), ({"meaningful": 0.0}, "least fall"),
     ({"meaningful": 0.9}, "larger than all"),
     ({"settle_days": 60}, "days to settle"), ({"exclusions": ("x",) * 9}, "too long")],
)  # fmt: skip
def test_words_that_are_missing_are_asked_for(before, changes, said):
    with pytest.raises(RequestProblem, match=said):
        drafted(before, replace(WORDS, **changes))


def test_a_sealed_plan_is_kept_whole_with_its_data_and_audit(before):
    trial = seal_protocol(before, plan=drafted(before), **BY)
    assert (trial.number, trial.batch, trial.plan.data_to) == (1, 1, date(2025, 6, 28))
    assert not trial.plan.late
    assert len(trial.fingerprint) == 64
    assert list_protocols(before) == (trial,)
    assert any(line.action == "seal_trial" for line in list_changes(before))
    with pytest.raises(RequestProblem, match="sealed already, as trial 1"):
        seal_protocol(before, plan=drafted(before), **BY)


def test_nobody_seals_without_a_name(before):
    with pytest.raises(RequestProblem, match="answers for it"):
        seal_protocol(before, plan=drafted(before), by=" ", role="educator")
    assert list_protocols(before) == ()


def test_after_its_first_data_a_plan_is_refused_or_late_for_ever(before):
    started = drafted(before, start=date(2025, 6, 2))
    with pytest.raises(RequestProblem, match="can no longer be written beforehand"):
        seal_protocol(before, plan=started, **BY)
    trial = seal_protocol(before, plan=started, late=True, **BY)
    assert trial.plan.late
    look_at_trial(before, number=1)
    said = trial_result(before, number=1)
    assert said.sentence.startswith("Written after data were there:")


def test_a_changed_plan_is_a_new_one_that_names_the_old(before):
    seal_protocol(before, plan=drafted(before), **BY)
    with pytest.raises(RequestProblem, match="no trial 5"):
        seal_protocol(before, plan=drafted(before, replace(WORDS, replaces=5)), **BY)
    second = seal_protocol(before, plan=drafted(before, replace(WORDS, replaces=1)), **BY)
    assert second.plan.replaces == 1
    assert get_protocol(before, 1).replaced_by == (2,)


@pytest.mark.parametrize(
    "change",
    [{"data_to": "2025-01-01"}, {"name": "Other"}, {"fingerprint": "0" * 64}, {"replaces": 3}, {"plan": {}}],
)
def test_a_tampered_record_is_refused(before, change):
    seal_protocol(before, plan=drafted(before), **BY)
    records.TrialProtocol.objects.using(before.alias).update(**change)
    with pytest.raises(WorkspaceProblem, match="changed after it was sealed"):
        get_protocol(before, 1)


def test_one_changed_number_in_the_plan_is_noticed(before):
    seal_protocol(before, plan=drafted(before), **BY)
    entry = records.TrialProtocol.objects.using(before.alias).get(number=1)
    entry.plan["meaningful"] = 0.002
    entry.save(using=before.alias)
    with pytest.raises(WorkspaceProblem, match="changed after it was sealed"):
        list_protocols(before)


def test_a_staffing_change_on_one_side_stops_the_seal(before):
    parallel = {"design": TrialDesign.PARALLEL, "icc": 0.0, "units": ("ED", "ICU", "3 North", "Dialysis")}
    plan = drafted(before, **parallel)
    new = next(one for one in plan.stretches if one.arm)
    note_entry(
        before, kind=ChangeKind.STAFFING, on=START + timedelta(days=2), words="New shift", facility=MARROWBY,
        unit=new.unit,
    )  # fmt: skip
    assert plan_trial(before, request(**parallel)).answer.verdict is Verdict.NOT_IDENTIFIABLE
    with pytest.raises(RequestProblem, match="cannot be separated"):
        seal_protocol(before, plan=plan, **BY)
    seal_protocol(before, plan=drafted(before), **BY)  # in turns the same change is in both arms


def test_a_plan_for_a_place_that_no_file_knows_is_refused(before):
    plan = drafted(before)
    bay = tuple(replace(one, unit="bay 4", place="Bay 4") if one.unit == "ed" else one for one in plan.stretches)
    with pytest.raises(RequestProblem, match="Bay 4"):
        seal_protocol(before, plan=replace(plan, stretches=bay), **BY)


def test_a_plan_by_another_charter_is_refused(before):
    with pytest.raises(RequestProblem, match="charter 9"):
        seal_protocol(before, plan=replace(drafted(before), charter=9), **BY)


def test_a_trial_counts_by_its_own_charter_after_another_came_into_force(before, tmp_path):
    seal_protocol(before, plan=drafted(before), **BY)
    take_after(before, tmp_path / "files")
    look_at_trial(before, number=1)
    version = current_charter(before)
    found = save_charter(before, charter=replace(version.charter, window_hours=48))
    sign_both(before, found.version)
    assert any("is in force today; counted is by charter" in line for line in compare_with_protocol(before, number=1))
    entry = records.CharterRecord.objects.using(before.alias).get(version=version.version)
    entry.delete()
    with pytest.raises(WorkspaceProblem, match="is not in this workspace"):
        trial_result(before, number=1)


def sign_both(workspace, version):
    for name, role in (("A. Educator", "education"), ("B. Head", "laboratory")):
        sign_charter(workspace, version=version, name=name, role=role, on=date(2025, 12, 1))


def test_a_plan_from_a_file_is_the_same_plan_or_says_what_is_wrong(before):
    plan = drafted(before)
    assert plan_from_file(build_plan_dict(plan), where="plan.json") == plan
    for wrong in ([], {}, {**build_plan_dict(plan), "baseline": 2}, {**build_plan_dict(plan), "looks": [3]}):
        with pytest.raises(RequestProblem, match=r"plan\.json: this plan cannot be used"):
            plan_from_file(wrong, where="plan.json")


def test_the_whole_way_from_seal_to_result(sealed):
    """Sets after the start: ED 80, ICU 50, 3 North 50 a month; 20 weeks from 7 July, data in two files."""
    workspace, folder = sealed
    with pytest.raises(RequestProblem, match="nobody has looked"):
        trial_result(workspace, number=1)
    with pytest.raises(RequestProblem, match="No look was counted"):
        look_at_trial(workspace, number=1)
    assert list_looks(workspace, 1) == ()

    take_after(workspace, folder / "files", until="2025-09-30")
    early = look_at_trial(workspace, number=1)
    assert "go on, nothing is decided yet" in early.sentence
    with pytest.raises(RequestProblem, match="saw these data already"):
        look_at_trial(workspace, number=1)
    (first,) = list_looks(workspace, 1)
    assert 0 < first.share < 1
    assert not first.closes

    take_after(workspace, folder / "files", since="2025-09-30")
    final = look_at_trial(workspace, number=1)
    looks = list_looks(workspace, 1)
    assert [one.number for one in looks] == [1, 2]
    assert looks[1].last
    assert looks[1].spent == pytest.approx(0.05)
    assert trial_result(workspace, number=1) == final
    assert trial_result(workspace, number=1, look=1).figure("share").value == first.share
    with pytest.raises(RequestProblem, match="ended with look 2"):
        look_at_trial(workspace, number=1)


def test_the_counts_are_those_of_the_world(sealed):
    """Every set between the first and the last day stands in exactly one arm."""
    workspace, _folder = sealed
    counts = list_looks(workspace, 1)[-1].counts
    plan = get_protocol(workspace, 1).plan
    hours = {unit.ward: unit for unit in WORLD[MARROWBY]}
    wanted = 0
    for ward in UNITS:
        for month in range(7, 13):
            days = [pair % 28 + 1 for pair in range(hours[ward].pairs)]
            wanted += 2 * sum(plan.start <= date(2025, month, day) <= plan.end for day in days)
    assert counts.sets == wanted
    arms = [counts.of_arm(arm) for arm in (0, 1)]
    contaminated = sum(x for x, _n in arms)
    assert contaminated == sum(
        sum(
            plan.start <= date(2025, month, pair % 28 + 1) <= plan.end
            for pair in range(hours[w].contaminated[month - 1])
        )
        for w in UNITS
        for month in range(7, 13)
    )  # fmt: skip


def test_what_was_done_otherwise_is_listed_and_a_new_name_changes_no_count(sealed):
    workspace, _folder = sealed
    lines = compare_with_protocol(workspace, number=1)
    assert any("has" in line and "written were" in line for line in lines)
    before = trial_result(workspace, number=1).figure("arm_1")
    rename_unit(workspace, facility=MARROWBY, old="ICU", new="Intensive Care", on=date(2025, 12, 1))
    assert any(line == "ICU is called Intensive Care today." for line in compare_with_protocol(workspace, number=1))
    assert trial_result(workspace, number=1).figure("arm_1") == before


def test_a_look_that_was_changed_is_refused(sealed):
    workspace, _folder = sealed
    entry = records.TrialLook.objects.using(workspace.alias).get(number=1)
    kept = dict(entry.outcome)
    entry.outcome = {**kept, "crossed": True}
    entry.save(using=workspace.alias)
    try:
        with pytest.raises(WorkspaceProblem, match="look 1 of trial 1 was changed"):
            trial_result(workspace, number=1)
    finally:
        entry.outcome = kept
        entry.save(using=workspace.alias)
    assert len(list_looks(workspace, 1)) == 2


def test_a_result_is_asked_again_by_its_receipt_to_the_last_digit(sealed):
    workspace, folder = sealed
    code = print_result(workspace, number=1, out=folder / "own.pdf", own=True)
    assert code.startswith("R-")
    rename_unit(workspace, facility=MARROWBY, old="3 North", new="Three North", on=date(2025, 12, 1))
    assert any("Three North" in line for line in compare_with_protocol(workspace, number=1))
    assert again(workspace, code).sameness is Sameness.SAME


def test_a_result_for_others_goes_through_the_guard(sealed):
    """The example policy hides one to four; both arms have more."""
    workspace, folder = sealed
    before, out = len(list_left_tables(workspace)), folder / "result.pdf"
    assert min(list_looks(workspace, 1)[-1].counts.of_arm(arm)[0] for arm in (0, 1)) > 4
    print_result(workspace, number=1, out=out)
    assert out.read_bytes().startswith(b"%PDF")
    assert len(list_left_tables(workspace)) == before + 1


def test_a_result_with_a_small_arm_does_not_leave_and_writes_nothing(before, tmp_path):
    """Six weeks of one unit: one to four in an arm. The trial's own page has it, the page for others is refused."""
    seal_protocol(before, plan=drafted(before, units=("ED",), weeks=6), **BY)
    take_after(before, tmp_path / "files")
    look_at_trial(before, number=1)
    assert 0 < min(list_looks(before, 1)[0].counts.of_arm(arm)[0] for arm in (0, 1)) <= 4
    with pytest.raises(RequestProblem, match="may not leave"):
        print_result(before, number=1, out=tmp_path / "result.pdf")
    assert not (tmp_path / "result.pdf").exists()
    print_result(before, number=1, out=tmp_path / "own.pdf", own=True)
    assert (tmp_path / "own.pdf").exists()


def test_days_to_settle_are_left_out(before, tmp_path):
    seal_protocol(before, plan=drafted(before, replace(WORDS, settle_days=3)), **BY)
    take_after(before, tmp_path / "files")
    look_at_trial(before, number=1)
    counts = list_looks(before, 1)[0].counts
    assert counts.settling > 0


def test_a_stepped_trial_is_counted_by_periods(before, tmp_path):
    plan = drafted(before, design=TrialDesign.STEPPED, icc=0.0, weeks=20)
    seal_protocol(before, plan=plan, **BY)
    take_after(before, tmp_path / "files")
    said = look_at_trial(before, number=1)
    counts = list_looks(before, 1)[0].counts
    assert {one.period for one in counts.turns} == {0, 1, 2, 3}
    assert said.verdict in (Verdict.SIGNAL, Verdict.WITHIN_VARIATION)
    assert any("if time moved all units alike" in caution for caution in said.cautions)
