"""What the pages say: every figure, outlet, load and finding of the answer, in words."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from evenboard.catalogue import Catalogue
from evenboard.intake import resolve
from evenboard.paths import demo_folder
from evenboard.reports import ReportDocument
from evenboard.reports.model import Section
from support.papers import a_content, a_document, content_of, village

CASES = sorted((Path(__file__).parents[1] / "cases").glob("*/layout.json"))


def demo(name: str) -> dict[str, Any]:
    text = (Path(demo_folder()) / f"boathouse-{name}.json").read_text(encoding="utf-8")
    return dict(json.loads(text)["layout"])


def section(document: ReportDocument, title: str) -> Section:
    return next(part for part in document.sections if part.title == title)


def cells(part: Section) -> list[tuple[str, ...]]:
    assert part.table is not None
    return [row.cells for row in part.table.rows]


@pytest.fixture(scope="module")
def uneven(catalogue: Catalogue) -> tuple[dict[str, Any], ReportDocument]:
    """The demo with everything on one phase: content and pages."""
    content = a_content(demo("one-phase"), catalogue)
    return content, a_document(content)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.parent.name)
def test_every_worked_case_makes_a_report_with_all_its_loads(
    path: Path, catalogue: Catalogue
) -> None:
    content = a_content(json.loads(path.read_text(encoding="utf-8")), catalogue)

    document = a_document(content)

    drawn = [p.id for b in document.boards for o in outlets_of(b) for p in o.plugged]
    assert sorted(drawn) == sorted(
        [load["id"] for load in content["layout"]["loads"] if load.get("board")]
        + [board["id"] for board in content["layout"]["boards"] if board.get("fed_from")]
    )


def outlets_of(board: Any) -> list[Any]:
    single = [box for row in board.rows for cell in row.cells for box in cell]
    return [*single, *board.wide]


def test_every_outlet_is_drawn_once_on_its_phase_and_row(catalogue: Catalogue) -> None:
    content = a_content(village(catalogue, 40), catalogue)

    document = a_document(content)

    for figures, board in zip(content["balance"]["boards"], document.boards, strict=True):
        assert sorted(box.id for box in outlets_of(board)) == sorted(
            outlet["id"] for outlet in figures["outlets"]
        )
        if len(board.columns) > 1:
            kinds = {outlet["id"]: outlet for outlet in figures["outlets"]}
            for row in board.rows:
                for column, cell in zip(board.columns, row.cells, strict=True):
                    assert all(kinds[box.id]["lines"] == [column.name] for box in cell)
                    assert all((kinds[box.id]["row"] or "") == row.name for box in cell)


def test_a_load_stands_in_the_outlet_that_the_layout_names(
    uneven: tuple[dict[str, Any], ReportDocument],
) -> None:
    content, document = uneven
    drawn = {
        (board.id, box.id, plugged.id)
        for board in document.boards
        for box in outlets_of(board)
        for plugged in box.plugged
        if not plugged.is_board
    }

    assert drawn == {
        (load["board"], load["outlet"], load["id"]) for load in content["layout"]["loads"]
    }


def test_the_bars_are_those_of_the_answer_and_differ_without_colour(
    uneven: tuple[dict[str, Any], ReportDocument],
) -> None:
    content, document = uneven
    phases = content["balance"]["phases"]
    bars = document.chart.bars

    assert [bar.name for bar in bars] == ["L1", "L2", "L3", "N"]
    assert [bar.share for bar in bars[:3]] == [p["loading_pct"] / 100 for p in phases]
    assert bars[0].amps == f"{phases[0]['current_a']:.1f} A"
    assert len({bar.pattern for bar in bars}) == 4


def test_columns_of_a_board_wear_the_pattern_of_the_line_behind_them(
    catalogue: Catalogue,
) -> None:
    body = village(catalogue, 12)
    rolled = next(board for board in body["boards"] if board["id"] == "north-1")
    rolled["fed_from"]["phase_order"] = ["L2", "L3", "L1"]

    document = a_document(a_content(body, catalogue))

    bars = {bar.name: bar.pattern for bar in document.chart.bars}
    columns = next(board for board in document.boards if board.id == "north-1").columns
    assert [(c.name, c.pattern, c.words) for c in columns] == [
        ("L1", bars["L2"], "is L2 of the supply"),
        ("L2", bars["L3"], "is L3 of the supply"),
        ("L3", bars["L1"], "is L1 of the supply"),
    ]


def test_more_than_the_rating_is_a_bar_that_says_over(catalogue: Catalogue) -> None:
    body = demo("one-phase")
    body["supply"]["rating_a"] = 32

    bar = a_document(a_content(body, catalogue)).chart.bars[0]

    assert bar.over
    assert bar.share is not None
    assert bar.share > 1.0
    assert bar.words.endswith("A over")


@pytest.mark.parametrize(("name", "word"), [("one-phase", "FAIL"), ("even", "PASS")])
def test_the_verdict_is_a_word(name: str, word: str, catalogue: Catalogue) -> None:
    document = a_document(a_content(demo(name), catalogue))

    assert document.verdict.word == word
    assert document.running.endswith(word)


def test_findings_come_worst_first_and_mark_their_outlets(
    uneven: tuple[dict[str, Any], ReportDocument],
) -> None:
    content, document = uneven
    findings = document.findings

    assert sorted(f.message for f in findings) == sorted(
        f["message"] for f in content["balance"]["findings"]
    )
    assert [f.mark for f in findings] == [f"F{n + 1}" for n in range(len(findings))]
    assert [f.word for f in findings] == sorted(
        (f.word for f in findings), key=["Stop", "Mend", "Know"].index
    )
    outlet = next(f for f in findings if "outlet l1-bottom" in f.place)
    quay = next(board for board in document.boards if board.id == "quay")
    assert outlet.mark in next(box for box in outlets_of(quay) if box.id == "l1-bottom").marks


def test_a_feeder_is_told_with_its_capacity_its_table_its_drop_and_its_heat(
    uneven: tuple[dict[str, Any], ReportDocument],
) -> None:
    content, document = uneven
    feeder = content["balance"]["boards"][0]["feeder"]
    drop = content["balance"]["boards"][0]["voltage_drop_pct"]["L1"]
    run = document.runs[0]

    text = " ".join(run.words)
    assert f"{feeder['capacity_a']:.0f} A" in text
    assert feeder["capacity_basis"] in text
    assert "coiled in 2 layers" in text
    assert run.rows[0][0] == "L1"
    assert run.rows[0][5] == f"{drop:.1f} %"
    assert run.rows[0][6] == f"{feeder['core_temperature_c']['L1']:.0f} °C"


def test_the_open_neutral_and_the_set_ups_are_told(
    uneven: tuple[dict[str, Any], ReportDocument],
) -> None:
    content, document = uneven
    volts = content["balance"]["open_neutral"]["voltage_v"]

    figures = {fact.label: fact.value for fact in document.figures}
    assert figures["If the neutral is lost"] == ", ".join(
        f"{line} {v:.0f} V" for line, v in volts.items()
    )
    assert [row[0].split(" (")[0] for row in cells(section(document, "Set-ups"))] == [
        "wide",
        "table talk",
    ]


def test_without_readings_there_is_a_form_with_the_amps_expected(
    uneven: tuple[dict[str, Any], ReportDocument],
) -> None:
    content, document = uneven
    form = section(document, "Readings")
    expected = content["balance"]["setups"][1]["phases"][0]["current_a"]

    assert form.table is not None
    assert form.table.ruled
    assert cells(form)[1][:3] == ("table talk", f"{expected:.1f} A", "")


def test_readings_stand_beside_what_was_expected(catalogue: Catalogue) -> None:
    reading = {
        "setup": "wide",
        "at": "2026-12-01T18:22:00+10:00",
        "by": "best boy",
        "meter": "averaging",
        "phases": {"L1": 60.0, "L2": 6.0},
        "neutral": 50.0,
        "explanations": ["6 A more on L2 than planned."],
    }

    content = a_content(demo("one-phase"), catalogue, readings=[reading])
    part = section(a_document(content), "Readings")

    more = 60.0 - content["balance"]["setups"][0]["phases"][0]["current_a"]
    row = cells(part)[0]
    assert row[:2] == ("1. wide", "supply")
    assert "1 December 2026, 08:22 UTC" in row[2]
    assert row[4] == f"60.0 A (+{more:.1f})"
    assert row[6] == "6.0 A (+6.0)"
    assert row[8] == "–"
    assert "1. 6 A more on L2 than planned." in part.notes
    assert any("averaging meter" in note for note in part.notes)


def test_a_reading_brings_what_was_expected_of_its_meter_at_its_board(
    catalogue: Catalogue,
) -> None:
    reading = {
        "setup": "wide",
        "board": "strip",
        "meter": "true-rms",
        "phases": {"L1": 12.0},
        "neutral": 9.0,
        "expected": {"phases": {"L1": 9.0}, "neutral": 9.0},
        "summary": "3 A more on L1 than planned.",
    }

    content = a_content(demo("one-phase"), catalogue, readings=[reading])
    part = section(a_document(content), "Readings")

    assert cells(part)[0][1] == "board strip"
    assert cells(part)[0][3:5] == ("9.0 A", "12.0 A (+3.0)")
    assert part.notes == ("1. 3 A more on L1 than planned.",)


def test_equipment_is_listed_by_tag_with_its_use(catalogue: Catalogue) -> None:
    body = demo("one-phase")
    body["boards"][0]["tag"] = "B-63-04"
    body["boards"][0]["feeder"]["tag"] = "C-16-112"
    piece = {
        "tag": "C-16-112",
        "kind": "cable",
        "csa_mm2": 16,
        "length_m": 30,
        "test_due_on": "2027-01-10",
        "state": "in-service",
    }

    document = a_document(a_content(body, catalogue, equipment=[piece]))

    rows = {row[0]: row[1:] for row in cells(section(document, "Equipment by tag"))}
    assert rows["C-16-112"] == (
        "cable, 16 mm², 30 m",
        "feeder of quay",
        "10 January 2027",
        "in service",
    )
    assert rows["B-63-04"][:2] == ("not on the desk’s list", "board quay")


def test_a_lamp_on_the_table_is_said_to_be_off(catalogue: Catalogue) -> None:
    body = demo("one-phase")
    body["loads"].append({"id": "spare", "fixture": "led-panel-200"})

    part = section(a_document(a_content(body, catalogue)), "Loads")

    assert next(row for row in cells(part) if row[0].startswith("spare"))[3] == "not plugged"
    assert "Not plugged, counted as off: spare." in part.notes


def test_a_layout_without_a_solution_shows_no_amps(catalogue: Catalogue) -> None:
    body = {
        "region": "au",
        "supply": {"rating_a": 32},
        "boards": [
            {
                "id": "far",
                "type": "three-row-32",
                "feeder": {"cable": "h07rn-f", "csa_mm2": 1.5, "length_m": 1900},
            }
        ],
        "loads": [
            {
                "id": "big",
                "custom": {"name": "heater", "power_w": 9000},
                "board": "far",
                "outlet": "l1-bottom",
            }
        ],
    }

    document = a_document(a_content(body, catalogue))

    assert document.chart.caption.startswith("NO SOLUTION")
    assert [bar.amps for bar in document.chart.bars] == ["–"] * 4
    assert document.verdict.word == "FAIL"


def test_the_order_of_switching_on_is_listed(catalogue: Catalogue) -> None:
    body = demo("even")
    layout = replace(resolve(body, catalogue), start_order=(("key",), ("fill", "edge")))

    document = a_document(content_of(layout, body, catalogue))

    assert cells(section(document, "Order of switching on")) == [
        ("1", "key"),
        ("2", "fill and edge"),
    ]


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"paper": "a5"}, "paper"),
        ({"language": "tlh"}, "language"),
        ({"content_sha256": "abc"}, "64"),
    ],
)
def test_what_there_is_not_is_refused(
    changes: dict[str, Any], word: str, catalogue: Catalogue
) -> None:
    content = a_content(demo("even"), catalogue)

    with pytest.raises(ValueError, match=word):
        a_document(content, **changes)


def test_a_report_that_replaces_another_says_so(catalogue: Catalogue) -> None:
    content = a_content(demo("even"), catalogue)
    content["issue"] |= {"supersedes": "AAAABBBBCCCCDDDD", "supersedes_number": 2}

    assert a_document(content).supersedes == "Supersedes report 2 (AAAA BBBB CCCC DDDD)"
