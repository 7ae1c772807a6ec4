"""Names on paper: what the fonts lack is spelled out, never left out."""

from __future__ import annotations

import pytest

from evenboard.reports.glyphs import has_sign, printable
from support.glyph_probe import with_sign


def test_the_table_of_signs_is_true_of_the_fonts() -> None:
    letters = [chr(code) for code in range(0x20, 0x2D00) if has_sign(chr(code))]
    rest = [chr(code) for code in range(0x2D00, 0x2FA20, 37) if has_sign(chr(code))]

    assert with_sign(letters) == set(letters)
    assert with_sign(rest) == set(rest)


@pytest.mark.parametrize("sign", ["🔥", "🎬", "ก", "ས", "ᠠ"])
def test_the_table_claims_no_sign_that_the_fonts_lack(sign: str) -> None:
    assert not has_sign(sign)
    assert with_sign([sign]) == set()


@pytest.mark.parametrize(
    "name",
    [
        "Ångström ½ Ω – “quoted” œ ß ł",
        "Ключевой свет",
        "Φως κλειδί",
        "山田スタジオ 主光源",
        "인천 부두",
        "ضوء المفتاح",
        "מנורת שולחן",
    ],
)
def test_names_in_these_scripts_are_shown_as_they_are(name: str) -> None:
    assert printable(name) == (name, False)


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("🔥 gag", "[fire] gag"),
        ("👩🏽‍🚒", "[woman][fire engine]"),
        ("ไฟ", "[U+0E44 U+0E1F]"),
        ("abc\u202edef", "abc[U+202E]def"),
        ("a\x00b", "a[U+0000]b"),
        ("two\nlines", "two lines"),
        ("e\u0301", "é"),
    ],
)
def test_other_signs_are_spelled_out(name: str, shown: str) -> None:
    assert printable(name)[0] == shown


def test_a_word_without_a_break_can_be_broken() -> None:
    shown, replaced = printable("W" * 95)

    assert shown.replace("\u200b", "") == "W" * 95
    assert max(map(len, shown.split("\u200b"))) <= 10
    assert not replaced
