"""A whole catalogue in a few lines, to be spoilt in one place by each test of a fault."""

from __future__ import annotations

from pathlib import Path

__all__ = ["FILES", "small_catalogue"]

FILES = {
    "catalogue.toml": """\
version = "1.0.0"
changes = [{ version = "1.0.0", date = "2026-01-31", text = "First." }]
families = [{ id = "tungsten", name = "Tungsten" }, { id = "led", name = "LED" }]
[size_classes]
medium_from_w = 1200
large_from_w = 3500
basis = { kind = "estimate", text = "made for a test" }
""",
    "fixtures/tungsten.toml": """\
family = "tungsten"

[class.lamp]
power_factor = 1
displacement_factor = 1
displacement = "none"
third_harmonic_pct = 0
load_model = "tungsten"
inrush_multiple = 12
inrush_ms = 250
leakage_ma = 0.3
input_ranges_v = [[220, 240], [110, 120]]
also_known_as = ["filament"]
basis = { kind = "handbook", text = "Class." }

[[fixture]]
slug = "tungsten-open-face-2000"
name = "2 kW tungsten open-face"
class = "lamp"
power_w = 2000
also_known_as = ["2k"]
basis = { kind = "estimate", text = "Entry." }
""",
    "fixtures/led.toml": """\
family = "led"

[[fixture]]
slug = "led-panel-100"
name = "100 W LED panel"
power_w = 110
lamp_power_w = 100
power_factor = 0.95
displacement_factor = 0.97
displacement = "leading"
third_harmonic_pct = 12
load_model = "constant-power"
inrush_multiple = 35
inrush_ms = 0.5
leakage_ma = 0.5
input_ranges_v = [[100, 240]]
basis = { kind = "estimate", text = "made for a test" }
""",
    "outlets/flat.toml": """\
[[outlet]]
id = "flat-10"
name = "10 A flat"
standard = "a standard"
lines = 1
neutral = true
rating_a = 10
voltage_v = [220, 250]
accepts = ["flat-10"]
basis = { kind = "memory", text = "made for a test" }

[[outlet]]
id = "flat-15"
name = "15 A flat"
standard = "a standard"
lines = 1
neutral = true
rating_a = 15
voltage_v = [220, 250]
accepts = ["flat-10", "flat-15"]
basis = { kind = "memory", text = "made for a test" }

[[outlet]]
id = "round-32-5"
name = "32 A round"
standard = "a standard"
lines = 3
neutral = true
rating_a = 32
voltage_v = [380, 415]
accepts = ["round-32-5"]
basis = { kind = "memory", text = "made for a test" }

[[outlet]]
id = "other-16"
name = "16 A of elsewhere"
standard = "a standard"
lines = 1
neutral = true
rating_a = 16
voltage_v = [220, 250]
accepts = ["other-16"]
basis = { kind = "memory", text = "made for a test" }
""",
    "regions/au.toml": """\
id = "au"
name = "A region"
frequency_hz = [50]
default_ambient_c = 30
loop_voltage_factor = 1.0
advisory = ["phase-loading"]
outlets = ["flat-10", "flat-15", "round-32-5"]
systems = [
    { system = "three-phase", line_to_neutral_v = 230, line_to_line_v = 400 },
    { system = "single-phase", line_to_neutral_v = 230 },
]

[[colours]]
code = "a code"
in_force = true
colours = { L1 = "brown", L2 = "black", L3 = "grey", N = "blue", PE = "green-yellow" }
basis = { kind = "memory", text = "made for a test" }

[limits]
voltage_drop_pct = 5

[cable_tables]
rubber = "table-a"

[bases]
systems = { kind = "memory", text = "made for a test" }
frequency_hz = { kind = "memory", text = "made for a test" }
default_ambient_c = { kind = "memory", text = "made for a test" }
loop_voltage_factor = { kind = "memory", text = "made for a test" }
advisory = { kind = "memory", text = "made for a test" }
voltage_drop_pct = { kind = "memory", text = "made for a test" }
""",
    "boards/box.toml": """\
id = "box"
name = "A box"
regions = ["au"]
system = "three-phase"
inlet = "round-32-5"
inlet_rating_a = 32
incomer = { rating_a = 32, curve = "C" }
incomer_rcd = { id = "main", rated_residual_ma = 300, delayed = true }
basis = { kind = "estimate", text = "made for a test" }
rcds = [{ id = "r1", rated_residual_ma = 30 }]

[[outlets]]
id = "l1"
lines = ["L1"]
rating_a = 15
row = "bottom"
breaker = { rating_a = 16, curve = "C" }
rcd = "r1"
connector = "flat-15"

[[outlets]]
id = "sub"
lines = ["L1", "L2", "L3"]
rating_a = 32
connector = "round-32-5"
""",
    "cables/rubber.toml": """\
id = "rubber"
name = "A cable"
construction = "multicore"
tinned = true
rated_temperature_c = 60
reactance_ohm_per_km = 0.08
basis = { kind = "memory", text = "made for a test" }

[[tables]]
id = "table-a"
standard = "a standard"
reference_ambient_c = 30
basis = { kind = "memory", text = "made for a test" }
sizes = [
    { csa_mm2 = 4, two_loaded_a = 30, three_loaded_a = 26 },
    { csa_mm2 = 6, two_loaded_a = 39, three_loaded_a = 34 },
]
[tables.ambient]
arguments = [30, 40]
factors = [1.0, 0.82]
basis = { kind = "memory", text = "x" }
[tables.grouping_bunched]
arguments = [1, 2]
factors = [1.0, 0.8]
basis = { kind = "memory", text = "x" }
[tables.grouping_surface]
arguments = [1, 2]
factors = [1.0, 0.85]
basis = { kind = "memory", text = "x" }
[tables.drum_layers]
arguments = [1, 2]
factors = [0.85, 0.65]
basis = { kind = "memory", text = "x" }
""",
}
"""Every file of the small catalogue; it has no fault."""


def small_catalogue(folder: Path, **changes: tuple[str, str]) -> Path:
    """Write the small catalogue; ``changes`` replaces one text in one file each.

    The key is the file's path with ``__`` for the slash and without suffix.
    """
    changed = {key.replace("__", "/") + ".toml": change for key, change in changes.items()}
    assert set(changed) <= set(FILES), f"no such file: {set(changed) - set(FILES)}"
    for name, content in FILES.items():
        if name in changed:
            old, new = changed[name]
            assert content.count(old) >= 1, f"{name} has no {old!r}"
            content = content.replace(old, new, 1)
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return folder
