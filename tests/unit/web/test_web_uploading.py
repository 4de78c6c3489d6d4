"""Files on their way in: tidy names, a folder of their own, nothing left behind, a bound on size."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import TemporaryUploadedFile

from cubital.web.uploading import MAX_UPLOAD_BYTES, discard_upload, keep_upload, prepare_inbox, tidy_name


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("marrowby.csv", "marrowby.csv"),
        ("../../etc/passwd", "passwd"),
        ("C:\\Users\\me\\November 2025 (final).xlsx", "November 2025 (final).xlsx"),
        ('a"b*\n.csv', "a_b_.csv"),
        ("..", "file"),
        ("", "file"),
        ("Año 2025.csv", "Año 2025.csv"),
    ],
)
def test_a_name_can_lead_nowhere_else(given, kept):
    assert tidy_name(given) == kept


def upload(name: str, content: bytes) -> TemporaryUploadedFile:
    made = TemporaryUploadedFile(name, "text/csv", len(content), None)
    made.write(content)
    return made


def test_a_kept_upload_is_whole_and_outlives_its_request(tmp_path):
    sent = upload("november.csv", b"a;b\n1;2\n")
    place = keep_upload(sent, prepare_inbox(tmp_path))
    sent.close()
    assert place.name == "november.csv"
    assert place.read_bytes() == b"a;b\n1;2\n"


@pytest.fixture
def inbox_with_a_file(tmp_path):
    sent = upload("x.csv", b"1")
    inbox = prepare_inbox(tmp_path)
    place = keep_upload(sent, inbox)
    sent.close()
    return inbox, place


def test_a_discarded_upload_leaves_no_trace(inbox_with_a_file):
    inbox, place = inbox_with_a_file
    discard_upload(place)
    assert list(inbox.iterdir()) == []


def test_what_an_earlier_run_left_behind_is_removed(inbox_with_a_file, tmp_path):
    assert len(list(tmp_path.joinpath("inbox").iterdir())) == 1
    assert list(prepare_inbox(tmp_path).iterdir()) == []


def test_a_request_over_the_bound_is_refused_with_the_way_round(browser):
    response = browser.post("/files", data=b"", content_type="text/csv", CONTENT_LENGTH=MAX_UPLOAD_BYTES + 1)
    assert response.status_code == 413
    assert "cubital take" in response.content.decode()
