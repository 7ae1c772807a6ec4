"""Scalars of a body are what they look like."""

from __future__ import annotations

from typing import Any

import marshmallow as ma
import pytest

from evenboard.api.fields import Choice, Flag, Items, Number, Part, Schema, Text, Whole


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
