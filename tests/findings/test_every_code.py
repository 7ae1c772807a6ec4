"""Every code: where it fires, where it just does not, and that its remedy mends it."""

from __future__ import annotations

import math

import pytest

from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.findings import RULES, EquipmentStatus, Finding, View, find
from evenboard.findings.action import Resize
from evenboard.findings.rules import code_of
from findings.scenarios import SCENARIOS, Scenario
from support.remedies import carried_out

CONTRACT = {
    "phase-overload",
    "phase-loading",
    "neutral-overload",
    "current-unbalance",
    "voltage-unbalance",
    "breaker-overload",
    "breaker-loading",
    "outlet-overload",
    "feeder-overload",
    "feeder-coiled",
    "core-overheating",
    "uneven-core-heating",
    "voltage-drop",
    "low-voltage-at-load",
    "residual-current",
    "inrush-trip",
    "loop-impedance",
    "generator-overload",
    "generator-unbalance",
    "generator-load-step",
    "leading-power-factor",
    "voltage-mismatch",
    "row-convention",
    "selectivity",
    "duplicate-outlet",
    "withdrawn-equipment",
    "overdue-test",
    "idle-phase",
    "open-neutral-overvoltage",
    "largest-lamp-drop",
    "no-neutral",
    "no-solution",
}
"""The codes that callers of the API may rely on."""

RATINGS = {
    "phase-overload",
    "neutral-overload",
    "breaker-overload",
    "outlet-overload",
    "feeder-overload",
    "core-overheating",
    "generator-overload",
    "voltage-mismatch",
    "loop-impedance",
}
"""Codes that say that something carries more than it may."""

every_scenario = pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda s: s.id)


def found(layout: Layout, equipment: dict[str, EquipmentStatus] | None = None) -> list[Finding]:
    return list(find(View(solve(layout), equipment)))


def of_code(findings: list[Finding], code: str) -> list[Finding]:
    return [finding for finding in findings if finding.code == code]


@every_scenario
def test_it_is_found_where_it_is(scenario: Scenario) -> None:
    findings = of_code(found(scenario.fires, scenario.equipment), scenario.code)

    assert findings, scenario.code
    assert findings[0].severity == scenario.severity


@every_scenario
def test_it_is_not_found_where_it_just_is_not(scenario: Scenario) -> None:
    equipment = scenario.quiet_equipment or scenario.equipment

    findings = of_code(found(scenario.quiet, equipment), scenario.code)

    assert not [f for f in findings if f.severity == scenario.severity], findings[0].message


@every_scenario
def test_carrying_out_the_remedy_mends_it(scenario: Scenario) -> None:
    finding = of_code(found(scenario.fires, scenario.equipment), scenario.code)[0]
    if not scenario.mends:
        assert finding.actions == ()
        return

    after = carried_out(scenario.fires, finding.actions)

    assert finding.actions
    left = of_code(found(after, scenario.equipment), scenario.code)
    there = [f for f in left if f.where.board == finding.where.board]
    assert [f.message for f in there if f.severity != scenario.leaves] == []


@every_scenario
def test_carrying_out_the_remedy_breaks_no_rating(scenario: Scenario) -> None:
    before = found(scenario.fires, scenario.equipment)
    finding = of_code(before, scenario.code)[0]

    after = carried_out(scenario.fires, finding.actions)

    broken = {f.code for f in found(after, scenario.equipment)} & RATINGS
    assert broken <= {f.code for f in before}


@every_scenario
def test_it_is_said_in_plain_words(scenario: Scenario) -> None:
    for finding in of_code(found(scenario.fires, scenario.equipment), scenario.code):
        for text in (finding.message, finding.remedy, finding.basis):
            assert text
            assert text[-1] == "."
            assert "  " not in text
            assert "nan" not in text.lower().split()
            assert "inf " not in text
        # A sentence or two for somebody in gloves; the longest lists four lamps by name.
        assert len(finding.message) <= 260
        for number in (finding.value, finding.limit):
            assert number is None or math.isfinite(number)


@every_scenario
def test_there_is_one_finding_for_a_place_and_code(scenario: Scenario) -> None:
    findings = found(scenario.fires, scenario.equipment)

    places = [
        (f.code, f.where.board, f.where.phase, f.where.outlet, f.where.load) for f in findings
    ]

    assert len(places) == len(set(places))


def test_every_code_of_the_contract_has_a_rule() -> None:
    codes = {code_of(rule) for rule in RULES}

    assert codes >= CONTRACT


def test_every_rule_has_a_scenario() -> None:
    assert {code_of(rule) for rule in RULES} == {scenario.code for scenario in SCENARIOS}


def test_a_rule_is_registered_once_and_says_what_it_finds() -> None:
    assert len(set(RULES)) == len(RULES)
    assert all(rule.__doc__ for rule in RULES)


@every_scenario
def test_a_cable_is_asked_to_have_one_size(scenario: Scenario) -> None:
    asked: dict[tuple[str | None, str | None], set[float]] = {}
    for finding in found(scenario.fires, scenario.equipment):
        for action in finding.actions:
            if isinstance(action, Resize) and action.csa_mm2 is not None:
                asked.setdefault((action.board, action.load), set()).add(action.csa_mm2)

    assert [sizes for sizes in asked.values() if len(sizes) > 1] == []
