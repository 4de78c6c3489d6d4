"""The readers under search: from bytes to a call. Only a ``CubitalError`` may come out of one.

Every reader of files gets a real file in a scratch folder on the way; readers of text get the bytes as text.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from cubital.domain.places import Facility, SourceMemory

FACILITY = Facility(name="Marrowby General", timezone="America/Chicago")
SECRET = b"only for the search of this house"
FAST_DISK = "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108 each input gets a folder of its own


@dataclass(frozen=True, kw_only=True)
class Reader:
    """``runs`` is how many inputs a whole search gives it, ``longest`` the bytes of one, ``seeds`` where it starts.

    ``most_seconds`` of processor time may one input take, tracing included.
    """

    read: Callable[[bytes], None]
    runs: int
    longest: int = 400
    seeds: tuple[bytes, ...] = field(default=(b"",))
    most_seconds: float = 1.0


class BrokenLaw(Exception):
    """A reader gave back something that cannot be."""


def hold(law: bool, words: str) -> None:
    """Raises ``BrokenLaw`` where a law does not hold."""
    if not law:
        raise BrokenLaw(words)


def text_of(data: bytes) -> str:
    """Any bytes as text; what is no UTF-8 becomes single signs, so that no input is lost."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def in_file(data: bytes, name: str, read: Callable[[Path, Path], None]) -> None:
    """Calls ``read(file, scratch folder)``."""
    with tempfile.TemporaryDirectory(dir=FAST_DISK, prefix="cubital-fuzz-") as folder:
        path = Path(folder) / name
        path.write_bytes(data)
        scratch = Path(folder) / "scratch"
        scratch.mkdir()
        read(path, scratch)


def read_dates(data: bytes) -> None:
    from cubital.intake.date_shapes import read_shape, shape_of
    from cubital.intake.message_times import split_time

    text = text_of(data)
    read_shape(shape_of(text))
    clock, offset = split_time(text)
    hold(not offset or abs(int(offset)) < 24 * 60 * 100, "an offset is minutes")
    hold("\n" not in clock or "\n" in text.strip(), "no line end is made up")


def read_results(data: bytes) -> None:
    from cubital.intake.results import read_result

    reading = read_result(text_of(data))
    hold(all(0 <= organism.score <= 100 for organism in reading.organisms), "a score is a percentage")


def read_labels(data: bytes) -> None:
    from cubital.intake.age_words import read_age
    from cubital.intake.bottle_words import read_bottle
    from cubital.intake.collection_words import read_collector, read_method
    from cubital.intake.roles import roles_of_header
    from cubital.intake.specimen_words import routine_tests, specimens_in_scope
    from cubital.intake.status_words import read_status

    text = text_of(data)
    read_bottle(text)
    read_status(text)
    read_method(text)
    read_age(text)
    roles_of_header(text)
    read_collector(text)
    routine_tests([text])
    specimens_in_scope([text])


def read_hl7_message(data: bytes) -> None:
    from cubital.intake.hl7.groups import read_orders
    from cubital.intake.hl7.lines import LineReader
    from cubital.intake.hl7.splitting import Message, split_message

    message = split_message(data)
    if isinstance(message, Message):
        read_orders(message)
        hold(list(LineReader({}).lines(message)), "every message is accounted for")


def read_hl7_file(data: bytes) -> None:
    from cubital.intake.hl7.reading import read_message_file

    in_file(
        data, "x.hl7", lambda path, scratch: read_message_file(path, name="x", scratch=scratch, answers={}) and None
    )


def read_fhir_file(data: bytes) -> None:
    from cubital.intake.fhir.reading import read_resources

    def read(path: Path, scratch: Path) -> None:
        read_resources(path, name="x", scratch=scratch)

    in_file(data, "x.json", read)


def read_fhir_resources(data: bytes) -> None:
    from tools.fuzz.resources import twisted_export

    read_fhir_file(twisted_export(data))


def read_table(data: bytes) -> None:
    from cubital.intake.opening import open_file

    def read(path: Path, scratch: Path) -> None:
        open_file(path, scratch)

    in_file(data, "x.csv", read)


def read_workbook(data: bytes) -> None:
    from tools.fuzz.workbooks import twisted_workbook

    read_table(twisted_workbook(data))


def read_counts(data: bytes) -> None:
    from cubital.workspace.count_files import read_counts as read

    def read_counted(path: Path, _scratch: Path) -> None:
        read(path)

    in_file(data, "x.csv", read_counted)


def read_policy(data: bytes) -> None:
    from cubital.bedside.policy_file import read_policy as read
    from cubital.bedside.policy_file import write_policy

    policy = read(text_of(data))
    hold(read(write_policy(policy)) == policy, "what is written is read again")


def read_symbol(data: bytes) -> None:
    from cubital.bedside.code128 import build_symbol

    symbol = build_symbol(text_of(data))
    hold(bool(symbol.words) and symbol.text == text_of(data), "the symbol holds the text")


def read_bedside(data: bytes) -> None:
    from cubital.bedside.label import Stock
    from cubital.bedside.label_answer import LabelRequest, answer_label
    from cubital.bedside.policy_file import example_policy
    from cubital.bedside.reading import read_patient, read_volume
    from cubital.bedside.units import read_number

    cells = [*text_of(data).split("|"), "", "", "", "", "", ""]
    policy = example_policy()
    bottle = policy.bottles[len(cells[0]) % len(policy.bottles)].key
    for read in (
        lambda: read_patient(
            weight=cells[0], weight_unit=cells[1] or None, age_months=cells[2], haemoglobin=cells[3] or None,
            haemoglobin_unit=cells[4] or None, taken_ml=cells[5],
        ),
        lambda: read_volume(cells[0], what="volume"),
        lambda: answer_label(
            policy, bottle,
            LabelRequest(
                stock=Stock(
                    long_mm=read_number(cells[0], what="long side"), short_mm=read_number(cells[2], what="short side")
                ),
                accession=cells[5] or "1",
            ),
            today=date(2026, 3, 4),
        ),
    ):  # fmt: skip
        _only_sentences(read)


def _only_sentences(read: Callable[[], object]) -> None:
    from cubital.domain.errors import CubitalError

    try:
        read()
    except CubitalError:
        return


def _read_whole(data: bytes, name: str) -> None:
    """The whole way of a culture file, with the law that every row is accounted for."""
    from cubital.engine import open_session
    from cubital.intake.reading import read_cultures

    def read(path: Path, _scratch: Path) -> None:
        with open_session(ordered=True, threads=1) as session:
            intake = read_cultures(
                session, path, facility=FACILITY, secret=SECRET, memory=SourceMemory(columns={}, answers={}),
                accept=True, progress=lambda _step, _share: None,
            )  # fmt: skip
            account = intake.reconciliation
            hold(account.rows == account.sets + sum(loss.count for loss in account.losses), "rows are accounted for")
            hold(session.one("select count(*) from row_fates")[0] == account.rows, "every row has a fate")

    in_file(data, name, read)


def read_whole_table(data: bytes) -> None:
    _read_whole(data, "x.csv")


def read_whole_hl7(data: bytes) -> None:
    _read_whole(data, "x.hl7")


def read_whole_fhir(data: bytes) -> None:
    from tools.fuzz.resources import twisted_export

    _read_whole(twisted_export(data), "x.ndjson")


def read_whole_movements(data: bytes) -> None:
    from cubital.engine import open_session
    from cubital.intake.movements import read_movements

    def read(path: Path, _scratch: Path) -> None:
        with open_session(ordered=True, threads=1) as session:
            account = read_movements(
                session,
                path,
                facility=FACILITY,
                secret=SECRET,
                memory=SourceMemory(columns={}, answers={}),
                accept=True,
            ).reconciliation
            hold(account.rows == account.sets + sum(loss.count for loss in account.losses), "rows are accounted for")

    in_file(data, "x.csv", read)


def take_whole(data: bytes) -> None:
    """A file is taken whole or not at all: after a refusal the workspace has no batch more and no new version."""
    from cubital.domain.errors import CubitalError
    from cubital.workspace.batches import list_batches
    from cubital.workspace.opening import open_workspace
    from cubital.workspace.snapshots import committed_versions
    from cubital.workspace.taking import take_file

    def take(path: Path, scratch: Path) -> None:
        with open_workspace(scratch / "workspace") as workspace:
            before = committed_versions(workspace)
            try:
                report = take_file(
                    workspace, file=path, facility=FACILITY.name, timezone=FACILITY.timezone, accept=True
                )
            except CubitalError:
                hold(committed_versions(workspace) == before, "a refused file leaves no version")
                hold(not list_batches(workspace), "a refused file leaves no batch")
                raise
            hold(len(list_batches(workspace)) == 1, "a taken file is one batch")
            hold(report.rows == report.sets + sum(loss.count for loss in report.losses), "rows are accounted for")

    in_file(data, "x.csv", take)
