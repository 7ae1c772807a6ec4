"""The words of the paper. The vocabulary is the one of the screen: stop, mend, know."""

from __future__ import annotations

__all__ = [
    "ASSUMPTIONS",
    "BASIS_KINDS",
    "CAUTIONS",
    "DIMMERS",
    "KINDS",
    "LAID",
    "LIMIT_NAMES",
    "LIMIT_UNITS",
    "PAGE",
    "ROWS",
    "SEVERITIES",
    "SIGNING",
    "STATES",
    "SYSTEMS",
    "VERDICTS",
]

VERDICTS = {
    "pass": ("PASS", "It holds."),
    "caution": (
        "CAUTION",
        "It holds, with care. Put right what is marked “mend”, or know why not.",
    ),
    "fail": (
        "FAIL",
        "It does not hold. Do not energise it before every “stop” below is mended.",
    ),
}
SEVERITIES = {"fail": "Stop", "caution": "Mend", "note": "Know"}
SYSTEMS = {
    "three-phase": "three-phase",
    "three-wire": "three-wire, two legs and a neutral",
    "single-phase": "single-phase",
}
KINDS = {"outlet": "Outlet", "generator": "Generator", "service": "House service"}
ROWS = {"top": "top", "middle": "middle", "bottom": "bottom", None: ""}
LAID = {
    "free-air": "free in air",
    "surface": "on the ground",
    "grouped": "bundled with others",
    "coiled": "coiled",
}
DIMMERS = {
    "phase-cut": "phase-cut dimmer",
    "built-in": "own electronics",
    "variable-transformer": "variable transformer",
}
STATES = {
    "in-service": "in service",
    "out": "in service",
    "withdrawn": "WITHDRAWN",
    "missing": "MISSING",
    "retired": "RETIRED",
    "scrapped": "SCRAPPED",
}
BASIS_KINDS = {
    "standard": "seen in the standard",
    "handbook": "seen in a handbook",
    "memory": "from memory, not seen",
    "common-practice": "common practice",
    "estimate": "estimate",
}
LIMIT_NAMES = {
    "phase_loading_pct": "Loading of a phase",
    "breaker_loading_pct": "Loading of a breaker, for hours",
    "spread_note_pct": "Spread of the phases over the rating: note",
    "spread_pct": "Spread of the phases over the rating: caution",
    "spread_fail_pct": "Spread of the phases over the rating: fail",
    "voltage_drop_pct": "Voltage drop",
    "low_voltage_pct": "Voltage at a load below nominal",
    "voltage_unbalance_pct": "Voltage unbalance, V2/V1",
    "leakage_share_pct": "Standing leakage of a residual-current device",
    "neutral_loading_pct": "Loading of the neutral",
    "core_spread_k": "Cores of a cable apart",
    "negative_sequence_pct": "Negative sequence on a generator, I2/I1",
    "leading_share_pct": "Leading reactive share on a generator",
    "generator_high_load_pct": "Generator load, highest",
    "generator_low_load_pct": "Generator load, lowest",
    "generator_step_pct": "Generator load step",
    "insignificant_w": "A load that moves no phase, below",
}
LIMIT_UNITS = {"pct": "%", "k": "K", "w": "W"}

PAGE = {
    "kind": "Electrical check report",
    "page": "Page",
    "of": "of",
    "order": "The order",
    "supply": "The supply",
    "note": "Note",
    "accepted": "Issued although it fails. Answered for by",
    "phases": "Phases",
    "findings": "Findings",
    "remedy": "Do this:",
    "basis_of": "Basis:",
    "boards": "Boards, as plugged",
    "free": "free",
    "feeds": "board",
    "wide": "more than one line",
    "feeders": "Boards and their feeders",
    "basis": "Basis of the figures",
    "assumptions": "What was assumed",
    "cautions": "Cautions",
    "signing": "Checked on site by a competent person",
    "proof": "Proof",
    "proof_words": (
        "Scan the code, or type the address: the page says whether this paper is genuine, "
        "superseded or unknown. It tells nothing else about the order."
    ),
    "proof_id": "Report",
    "proof_sha": "SHA-256 of the content",
    "proof_key": "Signed with key",
    "proof_url": "Verify at",
    "code_alt": "QR code that opens the verifying page of this report",
    "replaced": (
        "Signs that this paper's fonts lack stand in square brackets, by name or Unicode number."
    ),
    "attached_layout": "The layout as it was checked, to be opened again",
    "attached_report": "The content of this report, as it was hashed and signed",
    "attached_proof": "Hash and signature of the content",
}

SIGNING = (
    "Name",
    "Licence or qualification",
    "Signature",
    "Date and time",
)
CAUTIONS = (
    "A competent person decides. Connecting, altering and testing a supply is for those who are "
    "licensed or qualified to do it where the work is done; local codes, the venue's rules and "
    "the safety officer's word stand above this paper.",
    "It knows only what was entered. An unlisted heater, a worn contact, water, a crushed cable "
    "or a wrongly made lead is not in the sum; polarity, earth continuity, insulation and "
    "residual-current devices are proved by test, not by this paper.",
    "The plate on the unit in your hand wins over the figures printed here. Many are typical "
    "values or estimates, and say so.",
    "Earth and neutral first in and last out. A lost neutral puts far too many volts on the "
    "least loaded phase. Never part a connector under load; prove dead before touching.",
    "Measure each phase and the neutral with a true-RMS clamp meter once the lamps are lit.",
    "A trip has a cause: find it before resetting. Never bypass a breaker or a residual-current "
    "device.",
    "Lay surplus cable out, never leave it wound. A cable that changes shape, colour or smell "
    "comes out of use at once and stays out until its cause is found and it has passed a test.",
)
ASSUMPTIONS = (
    "Currents are true RMS in the steady state of a set-up with all of its loads on. Power flow "
    "by phasors with an explicit neutral, earthed at the source; overload is judged on these "
    "currents, room left on the plain sum of the lamps' amps.",
    "Conductors have their resistance at rated temperature (IEC 60228 class 5 where the size is "
    "given), the safe side for drop. The protective conductor has the size of a line.",
    "Tungsten draws power by the 1.55th power of its voltage, electronics draw constant power, "
    "heaters are a constant impedance. Third harmonics of the lines add arithmetically in the "
    "neutral, the safe side.",
    "Capacity is the rating of the table named times its factors for ambient, grouping, drum "
    "layers and a loaded neutral. Tables of different standards differ by a third for the same "
    "cable.",
    "Core temperatures by the simplified IEC 60287 form. How unequal cores share their heat is "
    "an estimate: cores apart, and the millimetres that the warmest grows more, are an early "
    "sign of a cable that will deform, not a measurement.",
    "Inrush is the RMS current whose peak is the first peak, all lamps of an outlet together, "
    "not weakened by the cable.",
)
