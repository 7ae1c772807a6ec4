"""A body is JSON to the letter, or it is refused with a sentence."""

from __future__ import annotations

import time

import pytest

from evenboard.api.problem import Problem
from evenboard.api.reader import faults_of, read_json
from evenboard.intake import Fault


def test_sound_json_is_read_as_it_is() -> None:
    text = '{"a": [1, -2.5e3, true, false, null, "Ω \\u00e9 \\ud83d\\udca1"], "": {}}'

    value = read_json(text.encode())

    assert value == {"a": [1, -2500.0, True, False, None, "Ω é 💡"], "": {}}


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"", "empty"),
        (b"  \n", "empty"),
        (b"{", "line 1, column 2"),
        (b'{"a": 1,}', "line 1"),
        (b"{'a': 1}", "line 1"),
        (b'{"a": 1} x', "line 1"),
        (b'{"a": 01}', "line 1"),
        (b'{"a": 1, "b": 2, "a": 3}', "'a' stands twice"),
        (b'{"x": {"a": 1, "a": 1}}', "'a' stands twice"),
        (b"NaN", "NaN"),
        (b"[Infinity]", "Infinity"),
        (b"[-Infinity]", "-Infinity"),
        (b"1e999", "too large"),
        (b"[-1e999]", "too large"),
        (b"9" * 5000, "5000 digits"),
        (b"-" + b"9" * 31, "32 digits"),
        (b"[" * 200_000, "nests deeper"),
        (b'{"a":' * 200_000, "nests deeper"),
        (b'["a\xff"]', "UTF-8"),
        (b'\xff\xfe{\x00"\x00', "UTF-8"),
        (b"\xef\xbb\xbf{}", "byte order mark"),
        (b'"\\ud800"', "surrogate"),
        (b'{"\\udc00": 1}', "surrogate"),
        (b'"\x01"', "line 1"),
    ],
)
def test_what_is_not_strictly_json_is_refused_with_a_sentence(body: bytes, said: str) -> None:
    with pytest.raises(Problem) as refused:
        read_json(body)

    assert refused.value.status == 400
    assert said in refused.value.detail


def test_brackets_inside_text_do_not_count_as_nesting() -> None:
    assert read_json(b'"' + b"[" * 100 + b'\\"[[["') == "[" * 100 + '"[[['


@pytest.mark.parametrize(
    "body",
    [b'"' + b'\\"' * 500_000, b'"' * 1_000_001, b'{"a":"' + b"\\\\" * 500_000, b"[]," * 300_000],
    ids=["open text of escaped quotes", "quotes", "backslashes", "pairs"],
)
def test_a_hostile_megabyte_is_refused_in_a_moment(body: bytes) -> None:
    begun = time.perf_counter()

    with pytest.raises(Problem):
        read_json(body)

    # A quadratic reader takes minutes for these; two seconds leave room for a busy machine.
    assert time.perf_counter() - begun < 2.0


def test_nested_messages_become_pointers_after_rfc_6901() -> None:
    messages = {
        "loads": {3: {"fixture": ["no"]}, "_schema": ["too many"]},
        "a/b~c": ["odd"],
        "_schema": ["whole"],
    }

    assert list(faults_of(messages)) == [
        Fault("/loads/3/fixture", "no"),
        Fault("/loads", "too many"),
        Fault("/a~1b~0c", "odd"),
        Fault("", "whole"),
    ]
