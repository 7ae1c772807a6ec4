"""Scalars of a body are what they look like."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import marshmallow as ma
import pytest

from evenboard.api.fields import (
    Choice,
    Day,
    Flag,
    Items,
    Moment,
    Number,
    Part,
    Schema,
    Text,
    Whole,
)


class InnerSchema(Schema):
    csa_mm2 = Number(above=0, required=True)


class ThingSchema(Schema):
    number = Number(least=0, most=100)
    share = Number(above=0, most=1)
    whole = Whole(least=1, most=10)
    flag = Flag()
    text = Text(most=10)
    choice = Choice(("free-air", "surface", "coiled"))
    items = Items(Whole(), most=3)
    part = Part(InnerSchema)
    moment = Moment()
    day = Day()


THING = ThingSchema()


@pytest.mark.parametrize(
    "sound",
    [
        {},
        {"number": 0, "share": 1, "whole": 2.0, "flag": False, "text": "Ω é", "choice": "coiled"},
        {"number": 1e2, "items": [1, 2, 3], "part": {"csa_mm2": 2.5}},
        {"number": None, "whole": None, "flag": None, "text": None, "items": None, "part": None},
    ],
)
def test_sound_values_pass(sound: dict[str, Any]) -> None:
    assert THING.load(sound) == sound


@pytest.mark.parametrize(
    ("body", "place", "said"),
    [
        ({"number": "1.5"}, "number", "must be a number"),
        ({"number": True}, "number", "must be a number"),
        ({"number": [1]}, "number", "must be a number"),
        ({"number": float("nan")}, "number", "finite"),
        ({"number": float("inf")}, "number", "finite"),
        ({"number": 10**400}, "number", "too large"),
        ({"number": -0.1}, "number", "at least 0 and at most 100"),
        ({"share": 0}, "share", "above 0 and at most 1"),
        ({"share": 1.01}, "share", "above 0 and at most 1"),
        ({"whole": 2.5}, "whole", "whole number"),
        ({"whole": "2"}, "whole", "whole number"),
        ({"whole": False}, "whole", "whole number"),
        ({"whole": 11}, "whole", "at most 10"),
        ({"flag": 1}, "flag", "true or false"),
        ({"flag": "yes"}, "flag", "true or false"),
        ({"text": 5}, "text", "must be text"),
        ({"text": ""}, "text", "1 to 10 characters"),
        ({"text": "x" * 11}, "text", "1 to 10 characters"),
        ({"text": "a\0b"}, "text", "control character"),
        ({"text": "a\nb"}, "text", "control character"),
        ({"choice": "coild"}, "choice", "Nearest: coiled"),
        ({"choice": 1}, "choice", "text"),
        ({"items": {}}, "items", "list"),
        ({"items": "abc"}, "items", "list"),
        ({"items": [1, 2, 3, 4]}, "items", "at most 3"),
        ({"part": []}, "part", "object"),
        ({"nmber": 1}, "nmber", "Nearest: number"),
        ({"zzzzzz": 1}, "zzzzzz", "no field"),
    ],
)
def test_a_wrong_value_is_told_what_would_be_right(
    body: dict[str, Any], place: str, said: str
) -> None:
    with pytest.raises(ma.ValidationError) as refused:
        THING.load(body)

    assert said in str(refused.value.messages_dict[place])


def test_a_stray_field_deep_inside_gets_its_nearest_name_too() -> None:
    with pytest.raises(ma.ValidationError) as refused:
        THING.load({"part": {"csa_mm": 2.5}})

    assert "Nearest: csa_mm2" in str(refused.value.messages_dict["part"]["csa_mm"])
    assert "missing" in str(refused.value.messages_dict["part"]["csa_mm2"])


def test_a_list_that_is_too_long_is_refused_without_reading_its_items() -> None:
    with pytest.raises(ma.ValidationError) as refused:
        THING.load({"items": ["wrong"] * 1000})

    assert refused.value.messages == {"items": ["This has 1000 items; at most 3 are read."]}


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-11-25T09:30:00Z", datetime(2026, 11, 25, 9, 30, tzinfo=UTC)),
        ("2026-11-25t09:30:00z", datetime(2026, 11, 25, 9, 30, tzinfo=UTC)),
        ("2026-11-25T20:00:00.5+10:30", datetime(2026, 11, 25, 9, 30, 0, 500_000, tzinfo=UTC)),
    ],
)
def test_a_moment_is_read_in_utc_whatever_its_zone(text: str, moment: datetime) -> None:
    assert THING.load({"moment": text})["moment"] == moment


@pytest.mark.parametrize(
    "value",
    [
        "2026-11-25T09:30:00", "2026-11-25", "20261125T093000Z", "2026-W48-3T09:30:00Z",
        "2026-02-30T09:30:00Z", "2026-11-25T24:30:00Z", "2026-11-25T09:30:00+25:00",
        "0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "٢026-11-25T09:30:00Z", 1764063000, True,
    ],
)  # fmt: skip
def test_a_moment_without_a_zone_or_of_no_calendar_is_refused(value: Any) -> None:
    assert THING.validate({"moment": value}) == {
        "moment": ["This must be a moment with its zone, such as 2026-11-25T09:30:00Z."]
    }


def test_a_day_is_a_day_of_the_calendar() -> None:
    assert THING.load({"day": "2028-02-29"})["day"] == date(2028, 2, 29)


@pytest.mark.parametrize(
    "value", ["2026-02-29", "29.2.2028", "20280229", "2028-W09-2", "1999-01-01", 20280229, True]
)
def test_what_is_no_day_is_refused(value: Any) -> None:
    assert THING.validate({"day": value}) == {"day": ["This must be a day, such as 2026-11-25."]}
