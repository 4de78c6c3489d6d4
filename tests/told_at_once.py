"""Says a failure when it happens, and at the end what tests told beside their results: a run cut off has said why."""

from __future__ import annotations

import pytest

LINES = 30


class ToldAtOnce:
    """Writes to the terminal of the process that gathers the results."""

    def __init__(self, config: pytest.Config) -> None:
        self._config = config
        self._told: list[str] = []

    def _terminal(self) -> pytest.TerminalReporter | None:
        return self._config.pluginmanager.get_plugin("terminalreporter")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.when == "call":
            self._told += [str(said) for name, said in report.user_properties if name == "told"]
        terminal = self._terminal()
        if report.failed and terminal is not None:
            terminal.ensure_newline()
            terminal.write_line(f"FAILED at once: {report.nodeid} ({report.when})")
            for line in report.longreprtext.splitlines()[-LINES:]:
                terminal.write_line(f"  {line}")

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if self._told:
            terminalreporter.section("told by tests that passed or failed")
            for line in self._told:
                terminalreporter.write_line(line)
