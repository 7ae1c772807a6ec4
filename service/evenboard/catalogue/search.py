"""Finding a fixture by what a crew types: words with slips, watts, amps, family and size.

Every word of the query is looked up in the words of all names (few, whatever the number of
fixtures) and the fixtures behind the words found are scored by lists; figures are compared as
ratios. A fixture must answer to every part of the query; where none does, those that answer to
most parts are shown.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import process
from rapidfuzz.distance import OSA

from evenboard.catalogue.families import Family
from evenboard.catalogue.query import Query, parse_query, plain, words_of
from evenboard.electrics.equipment import FixtureType
from evenboard.electrics.load import plug_current_a, version_for

__all__ = ["Hit", "SearchIndex", "branch_voltage_v"]

FloatArray = NDArray[np.float64]

# How well a fixture answers to one part of a query, 0 to 1 (estimates, held by the table of
# queries in the tests).
PREFIX_SCORE = 0.75
TYPO_SCORE = 0.85
TYPO_COST = 0.12
NAME_WEIGHT = 1.0
ALSO_KNOWN_WEIGHT = 0.97
FAMILY_WEIGHT = 0.9
LAMP_WATTS_SCORE = 0.99
PLUG_WATTS_SCORE = 0.95
KILOWATTS_SCORE = 0.95
LARGEST_KW = 24.0
"""A bare figure up to this may be kilowatts: the largest lamp has so many."""
NEAR_RATIO = 0.25
"""Watts and amps within a quarter still answer, the less the farther."""
SAME_RATIO = 0.012
"""Within about a percent a figure is the one asked for."""
NO_VERSION_COST = 0.2
"""A type that is not made for the voltage stands behind those that answer about as well."""
COVERAGE_SHARE = 0.05
"""Between equal answers the shorter name is the better one."""
MOST_WORDS = 60
"""A short beginning may meet many words; the nearest are enough."""
KEPT_VOLTAGES = 32


class Hit(NamedTuple):
    """A fixture found; ``version_v`` is its range at the voltage asked for, None if it has none."""

    fixture: FixtureType
    score: float
    version_v: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class _AtVoltage:
    """What holds of all fixtures at one voltage: their version and their current per line."""

    versions: tuple[tuple[float, float] | None, ...]
    made: NDArray[np.bool_]
    current_a: FloatArray
    listed: tuple[int, ...]


def branch_voltage_v(fixture: FixtureType, voltage_v: float) -> float:
    """The voltage across a branch of a fixture on lines of a line-to-neutral voltage. [V]"""
    return voltage_v * math.sqrt(3.0) if fixture.connection == "delta" else voltage_v


class SearchIndex:
    """All fixtures, ready to be searched. Made once; the order of answers is always the same."""

    branch_voltage_v = staticmethod(branch_voltage_v)

    def __init__(self, fixtures: Iterable[FixtureType], families: Iterable[Family]) -> None:
        self._families = tuple(families)
        order = {family.id: index for index, family in enumerate(self._families)}
        self._fixtures = tuple(
            sorted(fixtures, key=lambda f: (order.get(f.family, len(order)), f.power_w))
        )
        self._family = np.array([f.family for f in self._fixtures], dtype=np.str_)
        self._size_class = np.array([f.size_class for f in self._fixtures], dtype=np.str_)
        self._power_w = np.array([f.power_w for f in self._fixtures], dtype=np.float64)
        self._lamp_power_w = np.array(
            [f.lamp_power_w or f.power_w for f in self._fixtures], dtype=np.float64
        )
        self._index_words()
        self._at: dict[float, _AtVoltage] = {}

    def find(
        self,
        q: str = "",
        family: str | None = None,
        size_class: str | None = None,
        min_power_w: float | None = None,
        max_power_w: float | None = None,
        max_current_a: float | None = None,
        voltage_v: float = 230.0,
    ) -> list[Hit]:
        """The fixtures that fit, best first.

        Parameters
        ----------
        q : str
            What was typed; empty lists all that fit, by family and watts.
        family, size_class : str, optional
            Only of this family, of this size.
        min_power_w, max_power_w : float, optional
            Bounds of the power at the plug. [W]
        max_current_a : float, optional
            Only what draws no more per line at ``voltage_v``, and is made for it. [A]
        voltage_v : float
            Line to neutral; types with no version at it come after those that have one. [V]

        Returns
        -------
        list of Hit
            Scores from 0 to 1. Equal ones stand by family, watts and the order of the files.
        """
        query = parse_query(q)
        at = self._at_voltage(voltage_v)
        fits = np.ones(len(self._fixtures), dtype=np.bool_)
        if family is not None:
            fits &= self._family == family
        if size_class is not None:
            fits &= self._size_class == size_class
        for least in (min_power_w, query.min_power_w):
            if least is not None:
                fits &= self._power_w >= least
        for most in (max_power_w, query.max_power_w):
            if most is not None:
                fits &= self._power_w <= most
        for amps in (max_current_a, query.max_current_a):
            if amps is not None:
                fits &= at.made & (at.current_a <= amps)
        if query.terms == 0:
            # Only words that say nothing, or none: everything that fits, unless what was typed
            # could not be read at all.
            asked = plain(q).strip()
            if asked and not any(c.isalnum() for c in asked):
                return []
            return [Hit(self._fixtures[i], 1.0, at.versions[i]) for i in at.listed if fits[i]]
        scores = np.where(fits, self._scores(query, at), 0.0)
        scores = np.where(scores > 0.0, scores - np.where(at.made, 0.0, NO_VERSION_COST), 0.0)
        scores = np.round(np.clip(scores, 0.0, 1.0), 4)
        found = np.flatnonzero(scores > 0.0)
        ordered = found[np.argsort(-scores[found], kind="stable")]
        return [Hit(self._fixtures[i], float(scores[i]), at.versions[i]) for i in ordered.tolist()]

    def _scores(self, query: Query, at: _AtVoltage) -> FloatArray:
        """How well each fixture answers to the whole query, 0 where it does not; shape (n,)."""
        parts = []
        named = np.zeros(len(self._fixtures))
        for word in query.words:
            part, in_name = self._word_scores(word)
            parts.append(part)
            named += in_name
        parts += [self._watts_scores(watts) for watts in query.watts]
        parts += [_near(self._current(at), amps) for amps in query.amps]
        parts += [self._number_scores(number) for number in query.numbers]
        parts += [
            np.maximum(
                self._token_scores(token),
                0.8 * self._watts_scores(total) if total else np.zeros(len(self._fixtures)),
            )
            for token, total in query.multiples
        ]
        table = np.stack(parts)
        answered = np.count_nonzero(table, axis=0)
        most = int(answered.max(initial=0))
        if most == 0:
            return np.zeros(len(self._fixtures))
        mean = table.sum(axis=0) / len(parts)
        coverage = np.minimum(1.0, named / self._word_count)
        scores: FloatArray = mean * (1.0 - COVERAGE_SHARE * (1.0 - coverage))
        return np.where(answered == most, scores, 0.0)

    def _word_scores(self, word: str) -> tuple[FloatArray, NDArray[np.bool_]]:
        """How well each fixture answers to a word, and whether by its name; both shape (n,)."""
        scores = np.zeros(len(self._fixtures))
        in_name = np.zeros(len(self._fixtures), dtype=np.bool_)
        for index, like in self._like(word):
            holders, weights = self._postings[index]
            scores[holders] = np.maximum(scores[holders], like * weights)
            in_name[holders[weights == NAME_WEIGHT]] = True
        return scores, in_name

    def _token_scores(self, token: str) -> FloatArray:
        """How well each fixture answers to a token that must be met exactly; shape (n,)."""
        scores = np.zeros(len(self._fixtures))
        place = bisect_left(self._vocabulary, token)
        if place < len(self._vocabulary) and self._vocabulary[place] == token:
            holders, weights = self._postings[place]
            scores[holders] = weights
        return scores

    def _watts_scores(self, watts: float) -> FloatArray:
        """How near each fixture's lamp or plug watts are; shape (n,)."""
        by_lamp = LAMP_WATTS_SCORE * _near(self._lamp_power_w, watts)
        by_plug = PLUG_WATTS_SCORE * _near(self._power_w, watts)
        scores = np.maximum(by_lamp, by_plug)
        known = self._known_watts.get(watts)
        if known is not None:
            scores[known] = 1.0
        return scores

    def _number_scores(self, number: float) -> FloatArray:
        """How well each fixture answers to a figure without unit: in a name, watts or kilowatts."""
        scores = np.maximum(self._token_scores(f"{number:g}"), self._watts_scores(number))
        if number <= LARGEST_KW:
            scores = np.maximum(scores, KILOWATTS_SCORE * self._watts_scores(1000.0 * number))
        return scores

    def _current(self, at: _AtVoltage) -> FloatArray:
        return np.where(at.made, at.current_a, np.inf)

    def _like(self, word: str) -> list[tuple[int, float]]:
        """The words of the vocabulary that a typed word may stand for, and how surely."""
        likeness: dict[int, float] = {}
        place = bisect_left(self._vocabulary, word)
        known = place < len(self._vocabulary) and self._vocabulary[place] == word
        if len(word) >= 4 and not known:
            slips = 1 if len(word) <= 5 else 2
            for _, distance, index in process.extract(
                word, self._vocabulary, scorer=OSA.distance, score_cutoff=slips, limit=MOST_WORDS
            ):
                likeness[index] = TYPO_SCORE - TYPO_COST * (distance - 1)
        end = bisect_left(self._vocabulary, word + "\uffff")
        beginnings = sorted(range(place, end), key=lambda i: len(self._vocabulary[i]))
        for index in beginnings[:MOST_WORDS]:
            share = len(word) / len(self._vocabulary[index])
            like = 1.0 if share == 1.0 else PREFIX_SCORE + 0.2 * share
            if len(word) > 1 or share == 1.0:
                likeness[index] = max(likeness.get(index, 0.0), like)
        return sorted(likeness.items())

    def _index_words(self) -> None:
        """Words of all fixtures, sorted, and for each the fixtures that have it and the weight."""
        postings: dict[str, dict[int, float]] = {}
        known_watts: dict[float, list[int]] = {}
        counts = []
        names = {family.id: family.name for family in self._families}
        for index, fixture in enumerate(self._fixtures):
            weights: dict[str, float] = {}
            own = fixture.slug.removeprefix(f"{fixture.family}-").replace("-", " ")
            for text, weight in (
                (fixture.name, NAME_WEIGHT),
                (own, NAME_WEIGHT),
                (" ".join(fixture.also_known_as), ALSO_KNOWN_WEIGHT),
                (names.get(fixture.family, fixture.family), FAMILY_WEIGHT),
            ):
                words = words_of(text)
                pairs = [a + b for a, b in pairwise(words)]
                for word in words + [pair for pair in pairs if pair.isalpha()]:
                    weights[word] = max(weights.get(word, 0.0), weight)
            counts.append(max(1, len(words_of(fixture.name))))
            for word, weight in weights.items():
                postings.setdefault(word, {})[index] = weight
            for known in fixture.also_known_as:
                asked = parse_query(known)
                for watts in (*asked.watts, *asked.numbers):
                    known_watts.setdefault(watts, []).append(index)
        self._vocabulary = sorted(postings)
        self._postings = [
            (
                np.fromiter(postings[word], dtype=np.intp),
                np.fromiter(postings[word].values(), dtype=np.float64),
            )
            for word in self._vocabulary
        ]
        self._word_count = np.array(counts, dtype=np.float64)
        self._known_watts = {
            watts: np.array(indices, dtype=np.intp) for watts, indices in known_watts.items()
        }

    def _at_voltage(self, voltage_v: float) -> _AtVoltage:
        """Versions and currents of all fixtures at a voltage, kept for the next question."""
        kept = self._at.get(voltage_v)
        if kept is not None:
            return kept
        branches_v = [branch_voltage_v(fixture, voltage_v) for fixture in self._fixtures]
        pairs = list(zip(self._fixtures, branches_v, strict=True))
        versions = tuple(version_for(fixture, branch_v) for fixture, branch_v in pairs)
        made = np.array([version is not None for version in versions], dtype=np.bool_)
        current_a = np.array([plug_current_a(f, v) for f, v in pairs], dtype=np.float64)
        listed = tuple(np.argsort(~made, kind="stable").tolist())
        at = _AtVoltage(versions, made, current_a, listed)
        if len(self._at) >= KEPT_VOLTAGES:
            self._at.clear()
        self._at[voltage_v] = at
        return at


def _near(values: FloatArray, asked: float) -> FloatArray:
    """1 where a value is the one asked for, falling to 0 a quarter away; shape of ``values``."""
    if asked <= 0.0:
        return np.zeros(len(values))
    with np.errstate(divide="ignore"):
        away = np.abs(np.log(values / asked))
    near: FloatArray = np.where(
        away <= SAME_RATIO, 1.0, np.maximum(0.0, 0.8 * (1.0 - away / NEAR_RATIO))
    )
    return near
