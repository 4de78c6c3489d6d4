"""Money questions with a workspace behind them: versions of costs, counted draws, what leaves, what is asked again."""

from __future__ import annotations

import json
import re

import openpyxl
import pytest
from click.testing import CliRunner

from collection_shift import HEADINGS, KIT, SHARED, SHIFT, table_of
from cubital.answers.worth_inputs import COVERED, COVERED_RATE, RATE, SETS
from cubital.cli.root import cubital
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.workspace.costs import costs_to_use, current_costs, list_costs, read_costs, save_costs
from cubital.workspace.demo.costs import keep_demo_costs
from cubital.workspace.left_tables import list_left_tables
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file
from cubital.workspace.worth_answers import contamination_cost_of, worth_of, worth_with_counts
from cubital.workspace.worth_counts import CountsAsk, count_draws, covers, with_counted
from cubital.workspace.worth_files import write_business_case, write_finance_workbook
from places_world import MARROWBY, UNITS, sets_of, write_network

CODE = re.compile(r"R-[0-9A-Y]{4}-[0-9A-Y]{4}-[0-9A-Y]{4}")


@pytest.fixture
def desk(tmp_path):
    with open_workspace(tmp_path / "desk") as workspace:
        yield workspace


@pytest.fixture(scope="module")
def network_folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("network of money")
    with open_workspace(folder / "workspace") as workspace:
        for facility, file in write_network(folder).items():
            take_file(workspace, file=file, facility=facility, timezone="America/Chicago", accept=True)
    return folder / "workspace"


@pytest.fixture
def network(network_folder):
    with open_workspace(network_folder) as workspace:
        yield workspace


def test_costs_are_kept_by_version_and_the_same_again_is_no_new_one(desk):
    assert current_costs(desk) is None
    with pytest.raises(RequestProblem, match="none are made up"):
        costs_to_use(desk)
    table = table_of(SHARED, SHIFT)
    first = save_costs(desk, table=table, noted_by=" A.  Person ", role="finance")
    again = save_costs(desk, table=table, noted_by="B. Person", role="finance")
    second = save_costs(desk, table=table_of(SHARED, SHIFT, KIT), noted_by="B. Person", role="finance")
    assert (first.number, again.number, second.number) == (1, 1, 2)
    assert (first.noted_by, again.noted_by) == ("A. Person", "A. Person")
    assert [one.table for one in list_costs(desk)] == [table, table_of(SHARED, SHIFT, KIT)]
    with pytest.raises(RequestProblem, match="name and the role"):
        save_costs(desk, table=table, noted_by="", role="finance")


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".tsv"])
def test_the_same_table_in_every_common_file(tmp_path, suffix):
    rows = [line.split(",") for line in (HEADINGS + SHARED + SHIFT).splitlines()]
    out = tmp_path / f"costs{suffix}"
    if suffix == ".xlsx":
        book = openpyxl.Workbook()
        for row in rows:
            book.active.append([_number(cell) for cell in row])
        book.save(out)
    else:
        out.write_text("\n".join(("," if suffix == ".csv" else "\t").join(row) for row in rows))
    assert read_costs(out) == table_of(SHARED, SHIFT)


def _number(cell):
    try:
        return float(cell)
    except ValueError:
        return cell


def test_counted_draws_take_the_place_of_given_ones(network):
    counted = count_draws(network, CountsAsk(facility=MARROWBY, unit="ED"))
    contaminated, sets = sets_of(MARROWBY, "ED")  # the world's own arithmetic
    assert (counted.contaminated, counted.sets) == (contaminated, sets)
    assert len(counted.months) == 12
    table = with_counted(table_of(SHARED, SHIFT), counted)
    given, rate = table.find(SETS), table.find(RATE)
    assert given.likely == sets
    assert (rate.likely, rate.low < rate.likely < rate.high) == (contaminated / sets, True)
    assert "counted here: Marrowby General, ED" in rate.source
    found = worth_with_counts(network, table=table_of(SHARED, SHIFT), ask=CountsAsk(facility=MARROWBY, unit="ED"))
    assert found.answer.figure("contaminated_now").value == pytest.approx(contaminated)


def test_hours_bring_their_own_draws_and_baseline(network):
    hour = next(unit.hour for unit in UNITS[MARROWBY] if unit.ward == "ED")
    ask = CountsAsk(facility=MARROWBY, hours=(hour, (hour + 2) % 24))
    counted = count_draws(network, ask)
    inside = [unit for unit in UNITS[MARROWBY] if covers(ask.hours, unit.hour) and covers(ask.hours, unit.hour + 1)]
    sets = sum(sets_of(MARROWBY, unit.ward)[1] for unit in inside)
    contaminated = sum(sets_of(MARROWBY, unit.ward)[0] for unit in inside)
    assert counted.hour_sets is not None
    assert counted.hour_sets >= sets > 0
    assert counted.hour_contaminated >= contaminated > 0
    table = with_counted(table_of(SHARED, SHIFT), counted)
    assert table.find(COVERED, "the collection shift").likely == counted.hour_sets / counted.sets
    assert table.find(COVERED_RATE).likely == counted.hour_contaminated / counted.hour_sets


@pytest.mark.parametrize(("hours", "inside"), [((8, 20), {8, 19}), ((22, 6), {22, 23, 0, 5})])
def test_a_stretch_may_run_over_midnight(hours, inside):
    assert {hour for hour in (0, 5, 6, 8, 19, 20, 22, 23) if covers(hours, hour)} == inside


def test_counts_that_leave_go_through_the_guard_and_small_ones_stay(network, tmp_path):
    large = worth_with_counts(network, table=table_of(SHARED, SHIFT), ask=CountsAsk(facility=MARROWBY))
    before = len(list_left_tables(network))
    write_finance_workbook(network, worth=large, out=tmp_path / "book.xlsx")
    assert len(list_left_tables(network)) == before + 1
    months = CountsAsk(facility=MARROWBY, unit="ICU", from_month="2025-07", to_month="2025-07")
    small = count_draws(network, months)
    assert 1 <= small.contaminated <= 4, "the world has a small count here"
    worth = worth_with_counts(network, table=table_of(SHARED, SHIFT), ask=months)
    with pytest.raises(RequestProblem, match="cannot leave"):
        write_business_case(network, worth=worth, out=tmp_path / "case.pdf")
    assert not (tmp_path / "case.pdf").exists()


def test_refusals_leave_no_file(desk, tmp_path):
    worth = worth_of(table_of(SHARED.replace(",cost,local,", ",charge,local,"), SHIFT))
    assert worth.answer.verdict is Verdict.REFUSED
    with pytest.raises(RequestProblem, match="A charge is what is billed"):
        write_business_case(desk, worth=worth, out=tmp_path / "case.pdf")
    with pytest.raises(RequestProblem, match=r"Name the file \.xlsx"):
        write_finance_workbook(desk, worth=worth_of(table_of(SHARED, SHIFT)), out=tmp_path / "book.ods")
    assert list(tmp_path.glob("case*")) == list(tmp_path.glob("book*")) == []
    assert contamination_cost_of(table_of(SHIFT)).verdict is Verdict.REFUSED


@pytest.fixture
def run(tmp_path):
    """A command on an empty workspace, and the file of the story beside it."""
    (tmp_path / "shift.csv").write_text(HEADINGS + SHARED + SHIFT)

    def call(*words, code=0):
        done = CliRunner().invoke(cubital, ["--workspace", str(tmp_path / "w"), *map(str, words)])
        assert done.exit_code == code, done.output
        return done

    return call


def test_the_command_says_it_and_its_paper_is_computed_again(run, tmp_path):
    from pypdf import PdfReader

    said = run("worth", tmp_path / "shift.csv", "--paper", tmp_path / "case.pdf").output
    assert "It pays in 90 of 100 runs of the model" in said
    text = " ".join(PdfReader(tmp_path / "case.pdf").pages[-1].extract_text().split())
    code = CODE.findall(text)[0]
    assert json.loads(run("again", code, "--json").stdout)["sameness"] == "same"


def test_another_value_can_be_tried_without_another_file(run, tmp_path):
    said = json.loads(run("worth", tmp_path / "shift.csv", "--with", "wage per hour=40", "--json").stdout)
    figures = {one["key"]: one["value"] for one in said["figures"]}
    assert figures["programme_cost"] == pytest.approx(12 * 365 * 40 * 1.12)
    ranged = run("worth", tmp_path / "shift.csv", "--with", "relative risk=0.5..0.6..0.7").output
    assert "would avert about 78" in ranged  # 8400 × 0.55 × 0.042 × 0.4 = 77.6
    refused = run("worth", tmp_path / "shift.csv", "--with", "sparkle=1", code=10)
    assert "changes nothing here" in refused.output


def test_kept_costs_are_used_where_no_file_is_given(run, tmp_path):
    assert "there is no workspace here" in run("worth", code=12).output
    assert run("costs", "take", tmp_path / "shift.csv", "--by", "A. Person", "--role", "finance").output == (
        "costs 1: 9 inputs, brought by A. Person (finance).\n"
    )
    assert "pays in 90 of 100 runs" in run("worth").output
    assert "between 700 and 6,400 USD" in run("costs", "each").output
    (tmp_path / "again.csv").write_text(run("costs", "show").output)
    assert read_costs(tmp_path / "again.csv") == read_costs(tmp_path / "shift.csv")
    assert "charge (billed)" in run("costs", "published").output


def test_a_wrong_stretch_of_the_day_is_a_usage_error(run, tmp_path):
    for hours in ("8", "25-3", "8-8", "x-y"):
        assert "stretch of the day" in run("worth", tmp_path / "shift.csv", "--hours", hours, code=2).output


def test_an_empty_or_strange_file_is_one_sentence(run, tmp_path):
    (tmp_path / "empty.csv").write_text("")
    (tmp_path / "binary.csv").write_bytes(bytes(range(256)) * 40)
    for name in ("empty.csv", "binary.csv"):
        done = run("worth", tmp_path / name, code=10)
        assert name in done.output
    with pytest.raises(FileProblem):
        read_costs("input,likely\n")


def test_hours_that_leave_are_looked_at_as_parts_of_the_place(network, tmp_path):
    ask = CountsAsk(facility=MARROWBY, hours=(10, 11))  # the first set of every pair, which has every contamination
    worth = worth_with_counts(network, table=table_of(SHARED, SHIFT), ask=ask)
    assert worth.counted.hour_contaminated == worth.counted.contaminated
    write_finance_workbook(network, worth=worth, out=tmp_path / "hours.xlsx")
    assert (tmp_path / "hours.xlsx").stat().st_size > 10_000


def test_the_invented_network_brings_the_costs_of_the_story(desk):
    keep_demo_costs(desk)
    keep_demo_costs(desk)
    assert [one.number for one in list_costs(desk)] == [1]
    answer = worth_of(current_costs(desk).table).answer
    assert answer.figure("programme_cost").value == pytest.approx(166_790.4)
    assert answer.figure("even_cost").value == pytest.approx(1_456.9, abs=0.1)
