"""The laboratory says 3.5 %, the educator says 1.6 %, from one month. Both are right, and each set has its reason.

Outside check: section 4.5 of the job's map gives the month and what each definition makes of it: 1,000 sets, 820 in
410 series, 180 alone; a skin organism in one set of a series 16 times, in both sets of 5 series, and in 9 single sets.
"""

from __future__ import annotations

import csv
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from acceptance_shell import Shell

HEADER = ("ACC_NO", "MRN", "DOB", "LOC", "COLL_DT", "RECV_DT", "BOTTLE", "STATUS", "RESULT")
MONTH = "2026-03"
GREW = "STAPH EPIDERMITIS"


def rows() -> list[tuple[str, str, str]]:
    """Accession, patient and result: 410 pairs, the first 16 with growth in one set, the next 5 in both; 180 alone."""
    found = []
    for pair in range(410):
        first = GREW if pair < 21 else "NG 5D"
        second = GREW if 16 <= pair < 21 else "NG 5D"
        found += [(f"0{10_000 + 2 * pair}", f"P{pair}", first), (f"0{10_001 + 2 * pair}", f"P{pair}", second)]
    found += [(f"0{20_000 + one}", f"S{one}", GREW if one < 9 else "NG 5D") for one in range(180)]
    return found


@pytest.fixture(scope="module")
def disputed(tmp_path_factory: pytest.TempPathFactory) -> Shell:
    folder = tmp_path_factory.mktemp("disputed")
    with (folder / "march.csv").open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(HEADER)
        for place, (accession, patient, result) in enumerate(rows()):
            at = datetime(2026, 3, 1, 8) + timedelta(minutes=30 * place)  # noqa: DTZ001 - the laboratory's wall clock
            times = (f"{at:%Y-%m-%d %H:%M}", f"{at + timedelta(minutes=40):%Y-%m-%d %H:%M}")
            for bottle, grown in (("AER", result), ("ANA", "NG 5D")):
                writer.writerow((accession, patient, "1957-04-09", "ED", *times, bottle, "F", grown))
    shell = Shell(folder / "workspace")
    shell.json("take", folder / "march.csv", "--facility", "Marrowby General", "--timezone", "America/Chicago", "--yes")
    return shell


def test_one_month_reads_from_1_6_to_3_5_percent(disputed: Shell) -> None:
    lines = {line["key"]: line for line in disputed.json("bench", "--adults")["definitions"]}
    counted = {key[0]: (line["numerator"], line["denominator"]) for key, line in lines.items() if key[1] == "_"}
    assert counted == {"a": (16, 1000), "b": (16, 820), "c": (25, 1000), "d": (35, 1000)}
    said = disputed.ok("bench", "--adults", "--receipt")
    code = said[said.index("Receipt R-") + 8 :][:16]
    again = disputed.json("again", code)
    assert again["sameness"] == "same"
    assert [35, 1000, 0.035] in [row[1:] for row in again["answer"]["table"]["rows"]]
    rates = {key: round(100 * numerator / total, 2) for key, (numerator, total) in counted.items()}
    assert rates == {"a": 1.6, "b": 1.95, "c": 2.5, "d": 3.5}


def their_list(folder: Path, *, extra: tuple[str, ...] = ()) -> Path:
    """The laboratory counts every set in which a skin organism grew; its spreadsheet took the leading zeros away."""
    numbers = [accession.lstrip("0") for accession, _patient, result in rows() if result == GREW]
    path = folder / "their list.csv"
    path.write_text("\n".join(["Accession number", *numbers, *extra]) + "\n", encoding="utf-8")
    return path


def test_every_set_of_the_difference_has_its_reason(disputed: Shell, tmp_path: Path) -> None:
    answer = disputed.json("reconcile", their_list(tmp_path), "--month", MONTH)
    figures = {one["key"]: one["value"] for one in answer["figures"]}
    assert figures == {
        "theirs": 35, "ours": 16, "both": 16, "only_theirs": 19, "only_ours": 0, "not_found": 0, "ambiguous": 0
    }  # fmt: skip
    assert "of 1,000 counted sets the laboratory has 35 as contaminated, charter 1 has 16." in answer["sentence"]
    assert "10 sets: the same listed organism grew in two or more sets of the series" in answer["sentence"]
    assert "9 sets: a listed organism grew in a set that has no partner in the window" in answer["sentence"]
    assert len(answer["table"]["rows"]) == 35
    assert any("leading zeros" in caution for caution in answer["cautions"])


def test_a_number_that_is_no_set_and_one_twice_are_said(disputed: Shell, tmp_path: Path) -> None:
    file = their_list(tmp_path, extra=("99999", "10000"))
    said = disputed.ok("reconcile", file, "--month", MONTH)
    assert "On their list, but no set of these months: 1 set" in said
    assert "no valid set has this number" in said
    assert "1 number stands on their list more than once" in said
    assert "Private: small counts are not hidden here" in said


def test_the_same_list_is_the_same_sentence(disputed: Shell, tmp_path: Path) -> None:
    ours = [accession for accession, patient, result in rows() if result == GREW and patient[1:].isdigit()]
    file = tmp_path / "ours.csv"
    file.write_text("set\n" + "\n".join(ours[:16]) + "\n", encoding="utf-8")
    answer = disputed.json("reconcile", file, "--month", MONTH)
    assert "count the very same sets as contaminated (16)" in answer["sentence"]


@pytest.mark.parametrize(
    ("text", "words"),
    [("", "the file is empty"), ("patient,ward\n1,ED\n", "no column is called 'accession'"),
     ("accession,hospital\n,Marrowby General\n", "'accession': is empty")],
)  # fmt: skip
def test_what_is_no_list_is_one_sentence(disputed: Shell, tmp_path: Path, text: str, words: str) -> None:
    file = tmp_path / "list.csv"
    file.write_text(text, encoding="utf-8")
    done = disputed.run("reconcile", file, "--month", MONTH)
    assert (done.returncode, done.stdout) == (10, "")
    assert words in done.stderr


def test_a_month_without_sets_is_refused(disputed: Shell, tmp_path: Path) -> None:
    done = disputed.run("reconcile", their_list(tmp_path), "--month", "2024-01")
    assert done.returncode == 16
    assert "there are no sets in these months" in done.stderr
