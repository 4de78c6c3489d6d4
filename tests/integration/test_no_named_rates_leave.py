"""No face gives out a list of names with rates: commands, pages, exports, papers, the public library.

Names exist outside Cubital only, in a staff list that somebody brings. So two things are tried: to get a name out of
everything that writes without one, and to get a list of names with figures out of everything that takes one.
"""

from __future__ import annotations

import inspect
import io
import re
import subprocess
import sys
import tempfile
import zipfile
from contextlib import chdir
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from cubital.web.configuring import configure_pages

configure_pages()

from django.test import Client  # noqa: E402 - Django must know its settings first
from django.urls import get_resolver  # noqa: E402

import cubital  # noqa: E402
from cubital.cli import people as people_commands  # noqa: E402
from cubital.cli.root import cubital as root  # noqa: E402
from cubital.domain.errors import FileProblem  # noqa: E402
from cubital.workspace.opening import open_workspace  # noqa: E402
from cubital.workspace.people import read_people_counts  # noqa: E402
from cubital.workspace.people_gathering import gather_people  # noqa: E402
from cubital.workspace.staff import import_roster  # noqa: E402
from cubital.workspace.taking import take_file  # noqa: E402

sys.path.insert(0, str(Path(__file__).parent / "workspace"))
from people_files import HOSPITAL, ZONE, Drawn, write_draws, write_staff  # noqa: E402

SOURCE = Path(cubital.__file__).parent
NAMES = ("Moravec", "Moss", "Okoro", "Venn", "Hask")
READERS_OF_NAMES = {"workspace/staff.py", "workspace/staff_lists.py", "cli/people.py", "web/people/views.py"}
DRAWS = (
    Drawn("JM", "2025-07-10", 40, 6), Drawn("R.OKO", "2025-06-10", 35, 1), Drawn("7731", "2025-06-11", 160, 2),
    Drawn("7702", "2025-08-01", 9, 2),
)  # fmt: skip
LEAVING = (
    ("month", "2025-07", "--json"), ("bench", "--json"), ("batches", "--json"), ("people", "--json"),
    ("people", "openings", "--json"), ("people", "corrections", "--json"),
    ("export", "sets", "sets.xlsx"), ("export", "sets", "sets.csv"), ("export", "counts", "counts.csv"),
    ("export", "rows", "1", "rows.csv"), ("paper", "unit", "unit.pdf", "--month", "2025-07"),
    ("paper", "charter", "charter.pdf"), ("paper", "spike", "spike.pdf", "--month", "2025-07"),
    ("pack", "make", "pack.pdf", "--from", "2025-07", "--to", "2025-07"),
    ("backup", "--to", "copy.zip"),
)  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("named")
    with open_workspace(place / "w") as workspace:
        take_file(workspace, file=write_draws(place / "lab.csv", DRAWS), facility=HOSPITAL, timezone=ZONE, accept=True)
        import_roster(workspace, file=write_staff(place / "staff.csv"), facility=HOSPITAL)
    return place


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[bytes]:
    """The command inside this process; what it prints to each stream, and its exit code."""
    with chdir(folder):
        done = CliRunner().invoke(root, ["--workspace", str(folder / "w"), *words], prog_name="cubital")
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return subprocess.CompletedProcess(words, done.exit_code, done.stdout_bytes, done.stderr_bytes)


def named_in(content: bytes) -> list[str]:
    """The names in some bytes, also inside a packed file."""
    if content.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            content = b"\n".join(packed.read(name) for name in packed.namelist())
    return [name for name in NAMES if name.encode() in content]


@pytest.mark.parametrize("words", LEAVING, ids=" ".join)
def test_what_leaves_by_command_names_nobody(folder, words):
    before = set(folder.glob("*"))
    done = run(folder, *words)
    made = [path for path in set(folder.glob("*")) - before if path.is_file()]
    assert done.returncode == 0, done.stderr
    assert "--json" in words or made
    assert not named_in(done.stdout + done.stderr)
    for path in made:
        assert not named_in(path.read_bytes())
        if "export" in words:  # nor what the laboratory's file wrote for a person, beside a class
            assert b"r oko" not in path.read_bytes().lower().replace(b".", b" ")
        path.unlink()


@pytest.mark.parametrize("more", [(), ("--json",), ("--purpose", "letters")])
def test_names_with_figures_go_to_no_file_and_no_program(folder, more):
    done = run(folder, "people", "--staff-list", str(folder / "staff.csv"), *more)
    assert done.returncode == 16
    assert done.stdout == b""
    assert b"names are shown on the screen only" in done.stderr


def test_counts_with_names_instead_of_codes_are_refused(tmp_path):
    for name in ("Jonas Moss", "Moss", "JM", "J.MOSS"):
        file = tmp_path / "counts.csv"
        file.write_text(f"person,draws,contaminated\n{name},40,6\n", encoding="utf-8")
        with pytest.raises(FileProblem, match="a code such as C07") as refusal:
            read_people_counts(file)
        assert name not in str(refusal.value)


def every_command(group: click.Group, path: tuple[str, ...] = ()):
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        yield (*path, name), command
        if isinstance(command, click.Group):
            yield from every_command(command, (*path, name))


def test_only_letters_of_one_person_take_names_and_write_a_file():
    both = set()
    for path, command in every_command(root):
        options = {parameter.name for parameter in command.params}
        if "staff_list" in options:
            assert path[0] == "people"
            if options & {"out", "output", "to_file"}:
                assert "key" in options, f"{path} writes more than one person"
                both.add(path)
    assert both == {("people", "letter"), ("people", "correction")}


def test_names_are_read_in_four_places_only():
    words = {path: path.read_text(encoding="utf-8") for path in SOURCE.rglob("*.py")}
    found = {
        path.relative_to(SOURCE).as_posix()
        for path, text in words.items()
        if re.search(r"\b(names_of|read_staff_list|StaffRow)\b", text) and "workspace.staff" in text
    }
    assert found | {"workspace/staff_lists.py"} == READERS_OF_NAMES


def test_a_letter_names_its_person_and_nobody_else(folder):
    from pypdf import PdfReader

    with open_workspace(folder / "w") as workspace:
        keys = {one.count.draws: one.count.key for one in gather_people(workspace).people}
    done = run(
        folder, "people", "letter", keys[40], "--staff-list", str(folder / "staff.csv"), "--out", "letter.pdf"
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    reader = PdfReader(folder / "letter.pdf")
    text = " ".join(page.extract_text() for page in reader.pages)
    assert [name for name in NAMES if name in text] == ["Moss"]
    assert not [key for key in keys.values() if key in text and key != keys[40]]
    assert not named_in(str(reader.metadata).encode())


@pytest.fixture(scope="module")
def inside(folder):
    from cubital.web.door import door
    from cubital.web.serving import build_application

    with open_workspace(folder / "w") as workspace:
        build_application(workspace)
        client = Client(headers={"host": "127.0.0.1:8765"})
        client.get(door.new_link_path())
        with (folder / "staff.csv").open("rb") as file:
            client.post("/people/open", {"purpose": "support", "staff_list": file})
        yield client
    tempfile.tempdir = None


def plain_addresses(resolver=None, prefix: str = "/"):
    """Every address without a part to fill in."""
    for entry in (resolver or get_resolver()).url_patterns:
        address = f"{prefix}{entry.pattern}".replace("//", "/")
        if hasattr(entry, "url_patterns"):
            yield from plain_addresses(entry, address)
        elif "<" not in address:
            yield address


def content_of(response) -> bytes:
    return b"".join(response.streaming_content) if response.streaming else response.content


def test_no_page_but_people_shows_a_name_while_names_are_known(inside):
    tried = [address for address in plain_addresses() if not address.startswith(("/people", "/open"))]
    assert len(tried) > 12
    for address in tried:
        for query in ("", "?month=2025-07&place="):
            response = inside.get(f"{address}{query}")
            assert not named_in(content_of(response)), address


@pytest.mark.parametrize(
    "asked",
    [
        "?format=csv",
        "?format=json",
        "?download=1",
        "?export=xlsx",
        ".csv",
        ".json",
        ".xlsx",
        "/all.pdf",
        "/letters.pdf",
    ],
)
def test_the_private_page_has_no_other_form(inside, asked):
    response = inside.get(f"/people{asked}", headers={"accept": "text/csv, application/json"})
    kind = response.headers["Content-Type"]
    assert kind.startswith("text/html")
    assert "Content-Disposition" not in response.headers
    assert response.headers["Cache-Control"] == "no-store"


def test_the_private_page_does_name_people_so_that_the_search_can_fail(inside):
    assert named_in(inside.get("/people").content)


@pytest.mark.parametrize("name", sorted(cubital.PUBLIC))
def test_the_public_library_takes_no_staff_list_and_gives_no_names(name):
    if "roster" in name:
        return  # takes the list in and keeps no name: its own test reads the records
    thing = getattr(cubital, name)
    parameters = set(inspect.signature(thing).parameters)
    assert not parameters & {"names", "staff_list", "rows_with_names"}


def test_the_private_command_says_that_it_is_private(folder):
    done = run(folder, "people")
    assert b"not for pay, discipline or contracts" in done.stderr
    assert b"the guard for what leaves was not applied" in done.stderr


def test_the_private_commands_have_no_option_for_a_table_file():
    for _path, command in every_command(people_commands.people, ("people",)):
        options = {option for parameter in command.params for option in getattr(parameter, "opts", ())}
        assert not options & {"--csv", "--xlsx", "--export", "--table", "--slides"}
