"""Which names of a file a person is asked about, with what they may mean."""

from __future__ import annotations

import pytest

from cubital.domain.cultures import Match
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import preview_file

FILE = """ACC,MRN,COLLECTED,RESULT
1,70001,2025-11-01 10:00,STAPH EPIDERMITIS
2,70002,2025-11-01 11:00,Escherichia coli
3,70003,2025-11-01 12:00,Qxzvorbium plorians
4,70004,2025-11-01 13:00,Qxzvorbium plorians
5,70005,2025-11-01 14:00,No Qxzvorbium plorians isolated
"""


@pytest.fixture(scope="module")
def names(tmp_path_factory):
    folder = tmp_path_factory.mktemp("names")
    file = folder / "november.csv"
    file.write_text(FILE)
    with open_workspace(folder / "desk") as workspace:
        found = preview_file(workspace, file=file, facility="Marrowby General", timezone="America/Chicago").names
    return {one.text: one for one in found}


def test_a_known_name_is_not_asked_about(names):
    assert not any("coli" in text for text in names)


def test_a_misspelt_name_says_what_it_was_read_as(names):
    found = names["STAPH EPIDERMITIS"]
    assert (found.match, found.organism_key, found.rows) == (Match.PROPOSED, "staphylococcus-epidermidis", 1)


def test_an_unread_name_is_counted_over_its_rows_and_not_over_denials(names):
    found = names["Qxzvorbium plorians"]
    assert (found.match, found.organism_key, found.rows) == (Match.UNMATCHED, "", 2)


def test_every_proposal_for_an_unread_name_says_that_the_genus_would_change(names):
    proposals = names["Qxzvorbium plorians"].proposals
    assert all(one.crosses_genus for one in proposals)
