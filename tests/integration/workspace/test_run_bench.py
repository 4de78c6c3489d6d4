"""The bench over a workspace, from the two files of the messy month as they came."""

from __future__ import annotations

from pathlib import Path

import pytest

from cubital.domain.charter import SetClass
from cubital.domain.errors import RequestProblem
from cubital.reference.charters import published_charters
from cubital.workspace.judging import run_bench
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file

FILES = Path(__file__).resolve().parents[2] / "acceptance" / "files"
PLACES = {"marrowby.csv": "Marrowby General", "thistlecombe.csv": "Thistlecombe Community"}


@pytest.fixture(scope="module")
def workspace(tmp_path_factory):
    with open_workspace(tmp_path_factory.mktemp("bench") / "ws") as opened:
        for name, place in PLACES.items():
            take_file(opened, file=FILES / name, facility=place, timezone="America/Chicago", accept=True)
        yield opened


def rates(bench):
    return {line.key[0]: (line.numerator, line.denominator) for line in bench.definitions[:4]}


def test_adults_under_the_four_definitions(workspace):
    assert rates(run_bench(workspace, adults=True)) == {"a": (4, 18), "b": (4, 14), "c": (6, 18), "d": (9, 18)}


def test_everyone_brings_the_child_in(workspace):
    assert rates(run_bench(workspace)) == {"a": (4, 19), "b": (4, 14), "c": (7, 19), "d": (10, 19)}


def test_months_bound_the_bench(workspace):
    october = run_bench(workspace, from_month="2025-10", to_month="2025-10", adults=True)
    november = run_bench(workspace, from_month="2025-11", adults=True)
    assert rates(october)["a"] == (0, 5)
    assert rates(november)["a"] == (4, 13)


def test_a_list_without_viridans_streptococci_moves_the_child(workspace):
    moves = [move for move in run_bench(workspace).moves if move.to_key == "ecdc_48h" and move.accession == "5010"]
    assert [(move.from_class, move.to_class) for move in moves] == [(SetClass.SOLITARY_COMMENSAL, SetClass.PATHOGEN)]


def test_every_definition_stands_there(workspace):
    assert {line.key for line in run_bench(workspace).definitions} == set(published_charters())


def test_without_a_file_there_is_nothing_to_compare(tmp_path):
    with open_workspace(tmp_path / "empty") as empty, pytest.raises(RequestProblem, match="no file has been taken"):
        run_bench(empty)
