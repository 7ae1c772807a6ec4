"""What may be an order's reference."""

from __future__ import annotations

import pytest

from evenboard.desk.references import ReferenceInvalid, order_reference


@pytest.mark.parametrize(
    "ref", ["A", "NX-2207/4", "2026/11/25 – Kai", "夏 🎬", "👩‍🚒/1", "نیم‌فاصله", "links", "a" * 120]
)
def test_any_text_on_one_line_is_a_reference(ref: str) -> None:
    assert order_reference(ref) == ref


def test_the_same_text_is_the_same_order_however_its_accents_are_written() -> None:
    assert order_reference("Cafe\u0301") == order_reference("Caf\u00e9") == "Caf\u00e9"


@pytest.mark.parametrize(
    ("ref", "words"),
    [
        ("", "1 to 120"),
        ("a" * 121, "1 to 120"),
        ("a\nb", "control character"),
        ("a\u202eb", "control character"),
        (" a", "begin or end with a space"),
        ("/a", "between two parts"),
        ("a/", "between two parts"),
        ("a//b", "between two parts"),
        ("a/../b", "may not be . or .."),
        (".", "may not be . or .."),
        ("a/reports", "end in /reports"),
    ],
)
def test_what_cannot_be_told_from_another_address_is_none(ref: str, words: str) -> None:
    with pytest.raises(ReferenceInvalid, match=words):
        order_reference(ref)
