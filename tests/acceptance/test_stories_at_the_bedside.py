"""Weighing the bottles, the infant at 03:10, the label's place: the stories' numbers by the command line.

The expected numbers are the stories' own (invented policy and data; geometry and arithmetic computed by hand).
"""

from __future__ import annotations

import csv

import pytest

TARES = ("--tare-aerobic", "62.4", "--tare-anaerobic", "61.9")
INFANT = ("plan", "--age-months", "7", "--hb", "7.1", "--taken", "9", "--example-policy")
BALANCE = [
    ("5101", "AER", "71.6"), ("5101", "ANA", "67.1"), ("5102", "AER", "66.3"), ("5102", "ANA", "64.0"),
    ("5103", "AER", "72.9"), ("5104", "AER", "70.1"), ("5104", "ANA", "70.3"), ("5105", "AER", "65.2"),
    ("5105", "ANA", "62.0"), ("5106", "AER", "74.5"), ("5106", "ANA", "69.2"),
]  # fmt: skip


def figures(answer):
    return {figure["key"]: figure["value"] for figure in answer["figures"]}


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "balance.csv"
    with path.open("w", newline="", encoding="utf-8") as handle:
        csv.writer(handle).writerows([("accession", "bottle", "gross g"), *BALANCE])
    return path


def test_the_balance_says_what_the_story_says(shell, sheet):
    answer = shell.json("weigh", sheet, *TARES, "--example-policy")
    volumes = [row[2] for row in answer["table"]["rows"]]
    assert volumes == [8.7, 4.9, 3.7, 2.0, 10.0, 7.3, 8.0, 2.7, 0.1, 11.5, 6.9]
    assert "8 of 11 bottles hold less than 8 mL, 1 more than 10 mL; the mean is 6 mL" in answer["sentence"]
    assert any("5105 ANA: practically empty or wrong tare" in caution for caution in answer["cautions"])


def test_a_workbook_of_weights_gives_the_same(shell, tmp_path):
    from openpyxl import Workbook

    book = Workbook()
    book.active.append(["accession", "bottle", "gross g", "tare g"])
    for accession, bottle, gross in BALANCE:
        book.active.append([accession, bottle, float(gross), 62.4 if bottle == "AER" else 61.9])
    path = tmp_path / "balance.xlsx"
    book.save(path)
    answer = shell.json("weigh", path, "--example-policy")
    assert [row[5] for row in answer["table"]["rows"]][::2][:2] == [13.6, 5.7]


def test_a_comma_in_a_weight_is_named_with_its_row(shell, tmp_path):
    path = tmp_path / "balance.csv"
    path.write_text("accession;bottle;gross g;tare g\n1;AER;71,6;62.4\n", encoding="utf-8")
    done = shell.run("weigh", path, "--example-policy", "--json")
    assert done.returncode == 10
    assert "row 2" in done.stderr
    assert "71,6" in done.stderr


def test_the_infant_gets_up_to_six_millilitres(shell):
    answer = shell.json(*INFANT, "--weight", "6.4", "--weight-unit", "kg", "--hb-unit", "g/dL")
    found = figures(answer)
    assert found["plan_total_ml"] == 6
    assert [found[key] for key in ("blood_volume_ml", "single_cap_ml", "single_cap_used_ml", "day_cap_ml")] == [
        512, 12.8, 6.4, 25.6,
    ]  # fmt: skip
    assert found["day_left_ml"] == pytest.approx(16.6)
    assert "Discuss with the responsible clinician: low haemoglobin" in answer["sentence"]
    assert answer["sentence"].startswith("EXAMPLE.")
    assert any("EXAMPLE" in caution for caution in answer["cautions"])


def test_the_unit_of_haemoglobin_is_asked(shell):
    done = shell.run(*INFANT, "--weight", "6.4", "--weight-unit", "kg", "--json")
    assert done.returncode == 11
    assert done.stdout == ""
    assert "As g/dL it is 7.1 g/dL; as mmol/L it would be 11.4 g/dL" in done.stderr


@pytest.mark.parametrize(("weight", "unit"), [("6.4", "lb"), ("64", "kg")])
def test_an_implausible_weight_stops(shell, weight, unit):
    answer = shell.json(*INFANT, "--weight", weight, "--weight-unit", unit, "--hb-unit", "g/dL")
    assert answer["verdict"] == "refused"
    assert answer["figures"] == []


def test_a_paediatric_bottle_alone_is_not_overfilled(shell):
    words = ("--weight", "6.4", "--weight-unit", "kg", "--hb-unit", "g/dL", "--bottle", "paediatric")
    answer = shell.json(*INFANT, *words)
    assert figures(answer)["plan_total_ml"] == 4
    assert "4 mL is that bottle's limit" in answer["sentence"]


def test_without_an_approved_policy_there_is_no_number(shell):
    answer = shell.json("split", "--got", "9")
    assert answer["verdict"] == "refused"
    assert answer["figures"] == []


@pytest.mark.parametrize(
    ("got", "split"), [("9", (9, 0, 0)), ("12", (9, 3, 0)), ("14", (10, 4, 0)), ("23", (10, 10, 3))]
)
def test_a_short_draw_is_shared_as_the_story_says(shell, got, split):
    found = figures(shell.json("split", "--got", got, "--example-policy"))
    assert (found["aerobic_ml"], found["anaerobic_ml"], found["unused_ml"]) == split


@pytest.mark.parametrize("got", ["-1", "9,5", "nan", "1e9", "nine"])
def test_a_volume_that_cannot_be_is_refused_with_a_sentence(shell, got):
    done = shell.run("split", f"--got={got}", "--example-policy", "--json")
    assert done.returncode == 16
    assert done.stdout == ""
    assert "got" in done.stderr


def test_the_label_has_one_place(shell):
    answer = shell.json("label", "--example-policy", "--size", "50", "25", "--accession", "5001004711")
    found = figures(answer)
    assert found["centre_arc_mm"] == pytest.approx(75.1, abs=0.05)
    assert found["centre_degrees"] == pytest.approx(239, abs=0.5)
    assert (found["clear_side_mm"], found["clear_up_mm"]) == pytest.approx((7.5, 2.5), abs=0.01)
    assert found["symbol_mm"] == pytest.approx(41.3, abs=0.05)


def test_a_larger_stock_has_none_and_the_dimension_is_named(shell):
    answer = shell.json("label", "--example-policy", "--size", "60", "30")
    assert answer["verdict"] == "refused"
    assert "panel height" in answer["sentence"]
    assert "free arc" in answer["sentence"]


def test_card_sheets_and_pictures_are_written(shell, tmp_path):
    shell.ok("card", tmp_path / "card.html", "--example-policy")
    shell.ok("label", "--example-policy", "--sheet", tmp_path / "label.pdf", "--picture", tmp_path / "label.svg")
    for kind in ("volumes", "short-draw", "stop-line", "badge", "leaflet"):
        shell.ok("sheet", kind, tmp_path / f"{kind}.pdf", "--example-policy")
        assert (tmp_path / f"{kind}.pdf").read_bytes().startswith(b"%PDF")
    assert "EXAMPLE" in (tmp_path / "card.html").read_text(encoding="utf-8")
    assert (tmp_path / "card.html").stat().st_size < 300_000
    assert (tmp_path / "label.svg").read_text(encoding="utf-8").startswith("<svg")
