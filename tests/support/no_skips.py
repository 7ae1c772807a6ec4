"""A pytest plugin for CI: a skipped test fails the run, since nobody reads what was skipped."""

from __future__ import annotations

import pytest


class NoSkips:
    """Counts skipped tests and turns a green run red when there was one."""

    def __init__(self) -> None:
        self.skipped: list[str] = []

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Remember every skip, at set-up, call or tear-down; an expected failure is not one."""
        if report.skipped and not hasattr(report, "wasxfail"):
            self.skipped.append(report.nodeid)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """Remember modules that skipped themselves while being collected."""
        if report.skipped:
            self.skipped.append(report.nodeid)

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        """Fail the run."""
        if self.skipped and session.exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        """Say which."""
        for nodeid in self.skipped:
            terminalreporter.write_line(f"SKIPPED counts as failed in CI: {nodeid}", red=True)


def pytest_configure(config: pytest.Config) -> None:
    """Register the plugin."""
    config.pluginmanager.register(NoSkips(), "no-skips")
