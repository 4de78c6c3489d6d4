"""Where the records of these tests are: in each workspace's own file or, asked by a variable, on a real server.

``CUBITAL_TEST_RECORDS=postgresql`` runs the same tests with every workspace's records on PostgreSQL.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from postgres_server import ON_SERVER, find_programs, running_server


@pytest.fixture(scope="session")
def server_address() -> Iterator[str]:
    """The address of a real PostgreSQL server that lives as long as these tests."""
    programs = find_programs()
    if programs is None:
        pytest.skip("no PostgreSQL server's programs on this computer (package 'postgresql')")
    with running_server(programs) as address:
        yield address


@pytest.fixture(scope="session", autouse=True)
def chosen_records(request: pytest.FixtureRequest) -> Iterator[None]:
    """Puts the records of every workspace of this run where the variable says."""
    if not ON_SERVER:
        yield
        return
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CUBITAL_RECORDS", request.getfixturevalue("server_address"))
        yield
