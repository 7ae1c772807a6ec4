"""What a clamp meter's amps mean beside the planned ones: what fits, what does not, and why.

A reading is held against the solved layout and against every layout that is one slip away from it:
a lamp off, on another line, on though it is not in this set-up, at full though dimmed, something
unlisted, another set-up, the clamp on the wrong core, a meter that averages, everything higher or
lower by a share. Where no single slip fits, any two together are tried. What a slip does is added
to the solved currents as phasors at the plan's voltages: close enough for a clamp meter.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations
from typing import Literal

import numpy as np

from evenboard.desk.slips import Slip, extra, slips
from evenboard.electrics.layout import NEUTRAL, Layout
from evenboard.electrics.meter import averaging_reading_a
from evenboard.electrics.network import FIFTH, THIRD
from evenboard.electrics.powerflow import solve
from evenboard.electrics.solution import ComplexArray, FloatArray
from evenboard.findings import View

__all__ = ["Assessment", "Difference", "Hypothesis", "Measured", "Meter", "assess"]

Meter = Literal["true-rms", "averaging"]

FLOOR_A = 0.5
"""A clamp meter's five digits of 0.1 A (common practice, no source)."""
SHARE = 0.05
"""What plates, bulbs and the mains may differ by together, as a share of the amps (estimate)."""
NEARLY = 40
"""Slips that are tried in pairs: those that come nearest by themselves."""
SHOWN = 3
"""Explanations that are told: more are no help to someone in gloves."""
MIXED_UP, OTHER_METER, ALL_ALIKE, TOGETHER = 1.6, 1.2, 1.8, 0.5
"""How far-fetched these are, as for a slip; the last is added for two slips together."""
LOST_SHARE = 0.3
"""A neutral that carries less than this of what the lines add up to goes unexplained (estimate)."""
UNDER_READ = 0.95
"""A meter that shows less than this of what flows is said to under-read (estimate)."""


@dataclass(frozen=True, slots=True)
class Measured:
    """Amps by line, in the board's own names, and of the neutral where it was clamped. [A]"""

    phases: Mapping[str, float]
    neutral: float | None = None
    meter: Meter = "true-rms"


@dataclass(frozen=True, slots=True)
class Difference:
    """One conductor: what was expected on the meter, what it showed, and what may differ. [A]"""

    conductor: str
    expected_a: float
    measured_a: float
    tolerance_a: float

    @property
    def difference_a(self) -> float:
        """Measured less expected. [A]"""
        return self.measured_a - self.expected_a

    @property
    def fits(self) -> bool:
        """Whether it is as planned, as far as a clamp meter can tell."""
        return abs(self.difference_a) <= self.tolerance_a


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way in which the reading could have come about: which loads it is about, in words.

    ``left_a`` is the largest difference that it leaves unexplained. [A]
    """

    kind: str
    sentence: str
    loads: tuple[str, ...]
    left_a: float


@dataclass(frozen=True, slots=True)
class Assessment:
    """A reading beside what was planned.

    ``expected`` is what this kind of meter should show, ``true_rms`` what flows, by the board's
    own names of its lines, ``N`` for the neutral. [A] ``cautions`` are to be told first.
    """

    expected: Mapping[str, float]
    true_rms: Mapping[str, float]
    differences: tuple[Difference, ...]
    summary: str
    hypotheses: tuple[Hypothesis, ...]
    cautions: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether all of it is as planned."""
        return all(difference.fits for difference in self.differences)


def assess(
    layout: Layout, measured: Measured, setup: int = 0, board: int | None = None
) -> Assessment | None:
    """Hold a reading against a layout in one set-up, at the supply or at a board.

    None where the set-up has no solution: then nothing can be expected of it. Raises
    ``ValueError`` for a line, or a neutral, that is not there.
    """
    view = View(solve(layout))
    if not view.solved[setup]:
        return None
    return _Reading(view, measured, setup, 0 if board is None else board + 1).assessment()


@dataclass(frozen=True, slots=True)
class _Judged:
    hypothesis: Hypothesis
    cost: float
    off_by: float
    """The largest difference it leaves, in tolerances; up to 1 it fits."""


class _Reading:
    """One reading at one node, and everything that it is held against."""

    def __init__(self, view: View, measured: Measured, setup: int, node: int) -> None:
        self.view, self.meter, self.setup, self.node = view, measured.meter, setup, node
        board = view.board(node)
        names = view.layout.supply.lines if board is None else board.lines
        self.conductor = dict(zip(names, view.lines[node], strict=True))
        if view.has_neutral[node]:
            self.conductor["N"] = NEUTRAL
        amps = dict(measured.phases)
        if measured.neutral is not None:
            amps["N"] = measured.neutral
        for name in amps:
            if name not in self.conductor:
                raise ValueError(f"there is no {name} here; there are {', '.join(self.conductor)}")
        self.names = [name for name in self.conductor if name in amps]
        self.measured_a = np.array([amps[name] for name in self.names])
        self.base: ComplexArray = view.node_parts[node][:, setup]
        self.expected_a = self.shown_a(self.base)
        self.tolerance_a = self._tolerance_a()

    def shown_a(
        self, parts: ComplexArray, meter: Meter | None = None, names: Sequence[str] | None = None
    ) -> FloatArray:
        """What a meter shows of parts (..., 3, 4) on the conductors that were clamped. [A]"""
        at = [self.conductor[name] for name in names or self.names]
        each: FloatArray = np.abs(parts[..., at])
        if (meter or self.meter) == "true-rms":
            rms: FloatArray = np.sqrt((each**2).sum(axis=-2))
            return rms
        return averaging_reading_a((1, THIRD, FIFTH), np.moveaxis(each, -2, -1))

    def _tolerance_a(self) -> FloatArray:
        largest = np.maximum(self.expected_a, self.measured_a)
        # The neutral is what is left of the lines, so it is no better known than the largest.
        is_neutral = np.array([name == "N" for name in self.names])
        share = np.where(is_neutral, largest.max(initial=0.0), largest)
        tolerance: FloatArray = FLOOR_A + SHARE * share
        return tolerance

    def assessment(self) -> Assessment:
        """All of it."""
        figures = zip(self.names, self.expected_a, self.measured_a, self.tolerance_a, strict=True)
        differences = tuple(
            Difference(name, float(e), float(m), float(t)) for name, e, m, t in figures
        )
        fits = all(difference.fits for difference in differences)
        hypotheses = () if fits else self._hypotheses()
        every = list(self.conductor)
        shown = self.shown_a(self.base, names=every)
        flows = self.shown_a(self.base, "true-rms", every)
        return Assessment(
            expected=dict(zip(every, map(float, shown), strict=True)),
            true_rms=dict(zip(every, map(float, flows), strict=True)),
            differences=differences,
            summary=_summary(differences, hypotheses),
            hypotheses=hypotheses,
            cautions=tuple(self._cautions(differences, hypotheses)),
        )

    def _hypotheses(self) -> tuple[Hypothesis, ...]:
        """What explains the reading, the likeliest first; two slips only where one does not."""
        singles = slips(self.view, self.setup, self.node)
        found = self._judged([(slip,) for slip in singles])
        found += self._judged([(one,) for one in self._extras(self.base)])
        found += self._of_the_meter()
        if not any(judged.off_by <= 1.0 for judged in found):
            found = self._judged(self._pairs(singles))
        fitting = [judged for judged in found if judged.off_by <= 1.0]
        fitting.sort(key=lambda judged: judged.cost + judged.off_by**2)
        return tuple(judged.hypothesis for judged in fitting[:SHOWN])

    def _judged(self, ways: Sequence[tuple[Slip, ...]]) -> list[_Judged]:
        if not ways:
            return []
        parts = self.base + np.array([sum(slip.parts for slip in way) for way in ways])
        left = np.abs(self.measured_a - self.shown_a(parts))
        off_by = (left / self.tolerance_a).max(axis=1)
        return [
            _Judged(
                Hypothesis(
                    kind="+".join(slip.kind for slip in way),
                    sentence=" and ".join(slip.sentence for slip in way),
                    loads=tuple(load for slip in way for load in slip.loads),
                    left_a=float(left[i].max()),
                ),
                sum(slip.cost for slip in way) + TOGETHER * (len(way) - 1),
                float(off_by[i]),
            )
            for i, way in enumerate(ways)
        ]

    def _extras(self, base: ComplexArray) -> Iterator[Slip]:
        """Something unlisted on each line, and between two, of the size that fits best there."""
        lines = [name for name in self.names if name != "N"]
        for name in lines:
            line = self.conductor[name]
            current_a = self._fitted_a(base, line, complex(self.view.nominal_turn[line]), name)
            if current_a > FLOOR_A:
                yield extra(self.view, (line,), current_a, name)
        for one, other in combinations(lines, 2):
            pair = (self.conductor[one], self.conductor[other])
            across = complex(self.view.nominal_turn[pair[0]] - self.view.nominal_turn[pair[1]])
            current_a = self._fitted_a(base, pair[0], across / abs(across), one)
            if current_a > FLOOR_A:
                yield extra(self.view, pair, current_a, f"{one}-{other}")

    def _fitted_a(self, base: ComplexArray, line: int, turn: complex, name: str) -> float:
        """How much of a plain resistance makes a line read as measured; 0 where none does."""
        fundamental = complex(base[0, line]) / turn
        measured_a = float(self.measured_a[self.names.index(name)])
        square = measured_a**2 - fundamental.imag**2 - float((np.abs(base[1:, line]) ** 2).sum())
        return math.sqrt(square) - fundamental.real if square > 0.0 else 0.0

    def _pairs(self, singles: Sequence[Slip]) -> list[tuple[Slip, ...]]:
        parts = self.base + np.array([slip.parts for slip in singles]).reshape(-1, 3, NEUTRAL + 1)
        left = ((self.measured_a - self.shown_a(parts)) / self.tolerance_a) ** 2
        near = [singles[i] for i in np.argsort(left.sum(axis=1), kind="stable")[:NEARLY]]
        ways: list[tuple[Slip, ...]] = [
            (one, other)
            for one, other in combinations(near, 2)
            if not set(one.loads) & set(other.loads) and not one.kind == other.kind == "setup"
        ]
        for one in (*near, *self._extras(self.base)):
            ways += [(one, other) for other in self._extras(self.base + one.parts)]
        # The plainer of the two is told first.
        return [tuple(sorted(way, key=lambda slip: slip.cost)) for way in ways]

    def _of_the_meter(self) -> list[_Judged]:
        """The clamp on another core, the other kind of meter, everything alike too high or low."""
        found = []
        lines = [i for i, name in enumerate(self.names) if name != "N"]
        for order in permutations(lines):
            if list(order) != lines:
                read = self.measured_a.copy()
                read[lines] = self.measured_a[list(order)]
                swapped = [i for i, k in zip(lines, order, strict=True) if i != k]
                names = ", ".join(self.names[i] for i in swapped)
                sentence = f"the clamp was not on the core it was taken for ({names}), or the "
                sentence += "feeder is rolled"
                found.append(self._as(read, "mixed-up", sentence, MIXED_UP))
        other: Meter = "averaging" if self.meter == "true-rms" else "true-rms"
        shown = self.shown_a(self.base, other)
        sentence = (
            "the meter averages and under-reads pulsed current: use one that shows true RMS"
            if other == "averaging"
            else "the meter shows true RMS"
        )
        found.append(self._as(self.measured_a, "meter", sentence, OTHER_METER, shown))
        total = float(self.expected_a[lines].sum())
        share = float(self.measured_a[lines].sum()) / total if total > 0.0 else 1.0
        word = f"{abs(share - 1.0) * 100:.0f} % {'more' if share > 1.0 else 'less'}"
        sentence = f"every line carries {word}: the mains is off its nominal, or lamps are dimmed"
        if len(lines) > 1 and 0.5 < share < 2.0:
            shown = self.expected_a * share
            found.append(self._as(self.measured_a, "all-alike", sentence, ALL_ALIKE, shown))
        return found

    def _as(
        self,
        measured_a: FloatArray,
        kind: str,
        sentence: str,
        cost: float,
        shown_a: FloatArray | None = None,
    ) -> _Judged:
        left = np.abs(measured_a - (self.expected_a if shown_a is None else shown_a))
        off_by = float((left / self.tolerance_a).max())
        return _Judged(Hypothesis(kind, sentence, (), float(left.max())), cost, off_by)

    def _cautions(
        self, differences: Sequence[Difference], hypotheses: Sequence[Hypothesis]
    ) -> Iterator[str]:
        for difference in differences:
            rating_a = float(
                self.view.neutral_rating_a[self.node]
                if difference.conductor == "N"
                else self.view.line_rating_a[self.node]
            )
            if difference.measured_a > rating_a:
                yield (
                    f"{difference.conductor} carries {difference.measured_a:.1f} A and is rated "
                    f"{rating_a:g} A: switch lamps off it now."
                )
            yield from _lost_neutral(difference) if not hypotheses else ()
        flows = self.shown_a(self.base, "true-rms")
        if self.meter == "averaging":
            for name, shown_a, rms_a in zip(self.names, self.expected_a, flows, strict=True):
                if rms_a > FLOOR_A and shown_a < UNDER_READ * rms_a:
                    yield (
                        f"This meter averages: on {name} it shows {shown_a:.1f} A where "
                        f"{rms_a:.1f} A flow. Use one that shows true RMS."
                    )


def _lost_neutral(difference: Difference) -> Iterator[str]:
    if difference.conductor != "N" or difference.fits:
        return
    if difference.measured_a < LOST_SHARE * difference.expected_a:
        yield (
            f"The neutral carries {difference.measured_a:.1f} A where the lines leave "
            f"{difference.expected_a:.1f} A for it. Clamp it once more. If it stays so, the "
            "neutral may be open or the current returns another way: plug and unplug nothing, "
            "and have a competent person look."
        )


def _summary(differences: Sequence[Difference], hypotheses: Sequence[Hypothesis]) -> str:
    wrong = [difference for difference in differences if not difference.fits]
    if not wrong:
        return "As planned, as far as a clamp meter can tell."
    told = ", ".join(
        f"{abs(d.difference_a):.1f} A {'more' if d.difference_a > 0.0 else 'less'} on {d.conductor}"
        for d in wrong
    )
    if not hypotheses:
        return (
            f"{told} than planned. No single slip explains it, nor any two: clamp once more, then "
            "go through the list lamp by lamp."
        )
    ways = "; or ".join(hypothesis.sentence for hypothesis in hypotheses)
    return f"{told} than planned: {ways}."
