"""Serving: this computer only, a taken port said plainly, stopping cleanly, one link for one browser."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from cubital.domain.errors import MachineProblem
from cubital.web.serving import LOOPBACK, bind_server, serve


def nothing(_environment, start_response):
    start_response("204 No Content", [])
    return []


@pytest.fixture
def running(tmp_path: Path):
    """A Cubital started as a person starts it, and the link it printed."""
    command = [sys.executable, "-m", "cubital", "--workspace", str(tmp_path / "my desk"), "serve"]
    process = subprocess.Popen(
        [*command, "--port", str(free_port()), "--no-browser"],
        stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    assert process.stderr is not None
    link = next(line.strip() for line in process.stderr if "/open/" in line)
    yield process, link
    process.kill()
    process.wait(timeout=30)
    process.stderr.close()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind((LOOPBACK, 0))
        return int(probe.getsockname()[1])


def status_of(url: str) -> int:
    try:
        with urllib.request.urlopen(url, timeout=20) as response:  # noqa: S310 -- our own server
            return int(response.status)
    except urllib.error.HTTPError as refusal:
        with refusal:
            return refusal.code


def test_the_server_listens_on_the_loopback_address_alone():
    server = bind_server(nothing, 0)
    try:
        assert [one.getsockname()[0] for one in [server.socket]] == ["127.0.0.1"]
    finally:
        server.close()


def test_a_taken_port_is_said_with_the_way_round(tmp_path):
    with socket.socket() as other:
        other.bind((LOOPBACK, 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(MachineProblem, match=f"port {port} cannot be used.*--port"):
            serve(tmp_path / "desk", port=port, open_browser=False, announce=lambda _words: None)


@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_cleanly_and_says_so(running, sign):
    process, _link = running
    process.send_signal(sign)
    _out, said = process.communicate(timeout=30)
    assert process.returncode == 0
    assert said.strip().splitlines()[-1] == "Cubital has stopped."
    assert "Traceback" not in said


def test_the_printed_link_works_once(running):
    _process, link = running
    assert status_of(link) == 200
    assert status_of(link) == 403
    assert status_of(link.split("/open/")[0] + "/month") == 403


def test_the_link_is_long_enough_not_to_be_guessed(running):
    _process, link = running
    assert len(link.rsplit("/", 1)[1]) >= 43  # 32 random bytes in base64


def test_the_workspace_survives_a_restart_and_its_inbox_is_emptied(tmp_path):
    from cubital.web.uploading import prepare_inbox
    from cubital.workspace.opening import open_workspace

    with open_workspace(tmp_path / "desk") as workspace:
        left = prepare_inbox(workspace.folder) / "left-behind.csv"
        left.write_text("x")
        secret = workspace.secret
    with open_workspace(tmp_path / "desk") as again:
        prepare_inbox(again.folder)
        assert not left.exists()
        assert again.secret == secret
