"""The sample messages of the NIST Electronic Laboratory Reporting test cases, none of which is a blood culture.

Their README says what must come out: no set, six messages, a reason for each.
"""

from __future__ import annotations

from pathlib import Path

import hl7
import pytest

from cubital.intake.hl7.splitting import Message, field, read_messages
from intake_help import read_file

FOLDER = Path(__file__).parents[4] / "shared" / "data" / "hl7v2-oru-samples" / "nist-elr"
SAMPLES = sorted(FOLDER.glob("*.hl7"))
pytestmark = pytest.mark.skipif(len(SAMPLES) != 6, reason=f"the NIST sample messages are not in {FOLDER.parent.name}")


def only_message(path: Path) -> Message:
    (found,) = [piece for piece in read_messages(path) if isinstance(piece, Message)]
    return found


def test_six_samples_make_no_set_and_six_losses_with_reasons(tmp_path):
    feed = tmp_path / "all.hl7"
    feed.write_bytes(b"\r".join(path.read_bytes() for path in SAMPLES))
    with read_file(feed) as found:
        assert (found.sets, found.intake.reconciliation.rows) == (0, 6)
        assert found.fates() == [*((n, "other_test") for n in range(1, 6)), (6, "other_specimen")]
        details = [row[0] for row in found.session.rows("select detail from row_fates order by row")]
    assert all(detail.startswith("NIST-100929") for detail in details)
    assert details[3].endswith("Bacillus Anthracis Antibody")


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem[-5:])
def test_a_sample_alone_is_one_message_and_one_loss(path):
    with read_file(path) as found:
        assert (found.sets, found.intake.reconciliation.rows, sum(found.losses.values())) == (0, 1, 1)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem[-5:])
def test_every_field_of_a_sample_is_the_library_s(path):
    theirs = hl7.parse(path.read_bytes().decode())
    ours = only_message(path)
    assert [str(cell) for segment in theirs[1:] for cell in segment] == [c for s in ours.segments[1:] for c in s]


def test_case_six_keeps_three_observations_that_carry_one_number():
    ours = only_message(SAMPLES[5])
    seen = [segment for segment in ours.segments if segment[0] == "OBX"]
    names = [ours.signs.part(field(segment, 3), 2) for segment in seen]
    assert [field(segment, 1) for segment in seen] == ["1", "1", "1"]
    assert names == ["Campylobacter Jejuni AB", "Salmonella", "Shigella"]
    assert [field(segment, 5) for segment in seen] == ["Isolated", "Isolated", "Not Isolated"]


def test_the_organisms_of_case_six_count_in_a_blood_culture(tmp_path):
    """The same observations under a blood culture: what is isolated grew, what is not did not."""
    text = SAMPLES[5].read_bytes().decode()
    blood = text.replace("625-4^Stool culture^LN^8835327^Stool Culture Test", "600-7^Blood culture^LN^1^Blood culture")
    feed = tmp_path / "blood.hl7"
    feed.write_text(blood.replace("252393000^Stool specimen^SCT^STL^Stool", "122555007^^SCT^BLDV^"), newline="")
    with read_file(feed) as found:
        assert found.sets == 1
        assert sorted(found.column("organism_key", "new_isolates", "1")) == ["campylobacter-jejuni", "salmonella"]
