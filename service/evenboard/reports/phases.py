"""The phases of the supply: bars of amps against the rating, and the figures beside them."""

from __future__ import annotations

from evenboard.reports.figures import amps, kilo, listed, percent, trimmed, volts
from evenboard.reports.given import Given, Json
from evenboard.reports.model import Bar, Fact, Pattern, PhaseChart

__all__ = ["chart", "key_figures"]


def chart(given: Given) -> PhaseChart:
    """The bars of the set-up with the fullest line, and of the fullest neutral."""
    bars = [
        _bar(phase["phase"], given.pattern(phase["phase"]), phase, _room(phase))
        for phase in given.balance["phases"]
    ]
    neutral = given.balance["neutral"]
    if neutral is not None:
        bars.append(_bar("N", "plain", neutral, ""))
    limit = given.limit("phase_loading_pct")
    return PhaseChart(
        caption=_caption(given),
        bars=tuple(bars),
        limit_share=limit / 100.0 if limit < 100.0 else None,
        limit_words=f"{trimmed(limit)} %",
    )


def _caption(given: Given) -> str:
    unsolved = [setup["id"] for setup in given.balance["setups"] if not setup["solved"]]
    if len(unsolved) == len(given.setups):
        return "NO SOLUTION: the voltage collapses, so that there are no amps to show."
    if len(given.setups) < 2:
        return "Everything on. True RMS amps at the supply, against its rating."
    worst = given.balance["worst_setup"]
    phases, neutral = worst["phases"], worst["neutral"]
    words = f"Worst set-up: {phases}"
    if given.balance["neutral"] is not None and neutral != phases:
        words += f"; of the neutral: {neutral}"
    return f"{words}. True RMS amps at the supply, against its rating."


def _bar(name: str, pattern: Pattern, figures: Json, room: str) -> Bar:
    loading, rating = figures["loading_pct"], trimmed(figures["rating_a"])
    words = f"{percent(loading)} of {rating} A"
    if loading is None:
        words, room = f"of {rating} A", ""
    return Bar(
        name=name,
        pattern=pattern,
        share=None if loading is None else loading / 100.0,
        over=loading is not None and loading > 100.0,
        amps=amps(figures["current_a"]),
        words=", ".join(part for part in (words, room) if part),
    )


def _room(phase: Json) -> str:
    headroom = phase["headroom_a"]
    return f"{amps(headroom)} free" if headroom >= 0.0 else f"{amps(-headroom)} over"


def key_figures(given: Given) -> tuple[Fact, ...]:
    """What a reader wants to know of the whole supply besides the bars."""
    return tuple(_power(given) + _unevenness(given) + _neutral(given) + _energy(given))


def _power(given: Given) -> list[Fact]:
    powers = [setup for setup in given.balance["setups"] if setup["solved"]]
    if not powers:
        return [Fact("Power", "no solution in any set-up")]
    most = max(powers, key=lambda setup: setup["apparent_va"])
    capacity = kilo(given.balance["supply"]["capacity_va"], "VA")
    return [
        Fact("Power", f"{kilo(most['power_w'], 'W')}, {kilo(most['apparent_va'], 'VA')}"),
        Fact("The supply can give", f"{capacity} with all phases full"),
    ]


def _unevenness(given: Given) -> list[Fact]:
    uneven = given.balance["unbalance"]
    if uneven is None:
        return []
    facts = [
        Fact(
            "Fullest to emptiest phase",
            f"{amps(uneven['spread_a'])} apart, {percent(uneven['spread_pct'])} of the rating",
        ),
        Fact("Largest deviation from the mean", percent(uneven["current_pct"])),
    ]
    if uneven["negative_sequence_pct"] is not None:
        facts.append(Fact("Negative sequence, I2/I1", percent(uneven["negative_sequence_pct"])))
    if uneven["voltage_pct"] is not None:
        facts.append(Fact("Voltage unbalance, V2/V1", percent(uneven["voltage_pct"], 2)))
    return facts


def _neutral(given: Given) -> list[Fact]:
    neutral, open_neutral = given.balance["neutral"], given.balance["open_neutral"]
    facts = []
    if neutral is not None:
        facts.append(Fact("In the neutral", _parts(neutral)))
        if neutral["worst_switching_a"] is not None:
            on = neutral["worst_switching_on"]
            words = f"{amps(neutral['worst_switching_a'])} at most"
            if on and len(on) < len(given.loads):
                words += f", with {listed(on)} on"
            facts.append(Fact("In the neutral, whatever is switched off", words))
    if open_neutral is not None:
        gets = [f"{line} {volts(v)}" for line, v in open_neutral["voltage_v"].items()]
        facts.append(Fact("If the neutral is lost", ", ".join(gets)))
    return facts


def _parts(neutral: Json) -> str:
    triplen = neutral["triplen_a"]
    words = amps(neutral["current_a"])
    return words if not triplen else f"{words}, {amps(triplen)} of it third harmonics"


def _energy(given: Given) -> list[Fact]:
    energy = given.balance["energy"]
    if energy is None:
        return []
    used, lost = trimmed(energy["energy_kwh"], 0), trimmed(energy["loss_kwh"], 1)
    hours = trimmed(energy["hours_h"], 0)
    return [Fact("A shooting day", f"{used} kWh in {hours} h, {lost} kWh of it lost in cables")]
