"""The page that says of every figure where it is from, made from the figures themselves.

``python -m evenboard.catalogue.sources`` writes it to ``fixtures_catalog/SOURCES.md``; a test makes
it again and compares.
"""

from __future__ import annotations

import ast
import importlib
import math
import pkgutil
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import get_args

import evenboard.electrics
from evenboard.catalogue.catalogue import Catalogue
from evenboard.catalogue.loading import load_catalogue
from evenboard.electrics.constant import Constant, Table, figures_of
from evenboard.electrics.equipment import (
    Basis,
    BasisKind,
    CableTable,
    CableType,
    FactorTable,
    Limits,
    OutletStandard,
)
from evenboard.electrics.limits import LIMIT_BASES
from evenboard.paths import catalogue_folder

__all__ = ["JUDGING", "main", "said_numbers", "sources_page"]

FILE = "SOURCES.md"
JUDGING = ("findings", "balance", "desk")
"""Rooms whose numbers are thresholds that a person may ask the reason of."""
_HEAD = """\
# Where every figure is from

Made from the data by `python -m evenboard.catalogue.sources`: change a figure where it stands, run
that, and commit both. A figure here is no authority: the standard in force where you work is, and
the plate on the equipment.

| kind | meaning |
| --- | --- |
| `standard` | seen in the standard named, or in the reproduction that the text names |
| `handbook` | seen in a handbook, a maker's note or the like |
| `memory` | recalled from the source named, not seen: check it before you lean on it |
| `common-practice` | the trade does so; no source |
| `estimate` | reasoned here; the text says how |
"""


def sources_page(catalogue: Catalogue) -> str:
    """The page, as Markdown."""
    sections = [
        _HEAD,
        _summary(catalogue),
        *_electrics(),
        _limits(),
        _judging(),
        *(_cable(cable) for cable in catalogue.cables.values()),
        *_regions(catalogue),
        _outlets(catalogue),
        _boards(catalogue),
        _fixtures(catalogue),
    ]
    return "\n".join(section.rstrip("\n") + "\n" for section in sections)


def main() -> int:
    """Write the page into the catalogue's folder."""
    folder = catalogue_folder()
    (folder / FILE).write_text(sources_page(load_catalogue(folder)), encoding="utf-8")
    return 0


def _figures() -> Iterator[tuple[str, Constant | Table]]:
    for info in pkgutil.iter_modules(evenboard.electrics.__path__):
        module = importlib.import_module(f"evenboard.electrics.{info.name}")
        yield from ((info.name, figure) for figure in figures_of(module))


def _bases(catalogue: Catalogue) -> Iterator[Basis]:
    yield from (figure.basis for _, figure in _figures())
    yield from LIMIT_BASES.values()
    for cable in catalogue.cables.values():
        yield cable.basis
        for table in cable.tables:
            yield table.basis
            yield from (factors.basis for _, factors in _factor_tables(table))
    for region in catalogue.regions.values():
        yield from region.bases.values()
        yield from (code.basis for code in region.colours)
    yield from (outlet.basis for outlet in _outlet_standards(catalogue).values())
    yield from (board.basis for board in catalogue.boards.values())
    yield from (fixture.basis for fixture in catalogue.fixtures.values())


def _summary(catalogue: Catalogue) -> str:
    counts = Counter(basis.kind for basis in _bases(catalogue))
    rows = [(kind, counts[kind]) for kind in get_args(BasisKind)]
    return "How many figures, tables and entries rest on which kind:\n\n" + _table(
        ("kind", "entries"), rows
    )


def _electrics() -> Iterator[str]:
    constants = [(name, f) for name, f in _figures() if isinstance(f, Constant)]
    yield "## Constants of the electrics\n\n" + _table(
        ("module", "figure", "value", "unit", "kind", "source"),
        [(n, f.name, _number(f.value), f.unit, f.basis.kind, f.basis.text) for n, f in constants],
    )
    yield "## Tables of the electrics\n"
    for name, figure in _figures():
        if isinstance(figure, Table):
            yield (
                f"### {figure.name} (`{name}`)\n\n{_source(figure.basis)}\n\n"
                + _table(figure.columns, [[_number(cell) for cell in r] for r in figure.rows])
            )


def _limits() -> str:
    general = Limits()
    rows = []
    for field in fields(Limits):
        basis = LIMIT_BASES[field.name]
        rows.append((field.name, _number(getattr(general, field.name)), basis.kind, basis.text))
    return "## General limits\n\nA region or a layout may set others.\n\n" + _table(
        ("limit", "value", "kind", "source"), rows
    )


def _judging() -> str:
    rows = [
        (f"{room}.{file.stem}", name, _listed(value), " ".join(words.split()))
        for room in JUDGING
        for file in sorted((Path(evenboard.__path__[0]) / room).glob("*.py"))
        for name, value, words in said_numbers(file.read_text(encoding="utf-8"))
    ]
    return (
        "## Thresholds of judging\n\nWhat findings, answers and the desk's rules go by beside the "
        "limits above, in the words that stand under each.\n\n"
        + _table(("module", "figure", "value", "what it says"), rows)
    )


def said_numbers(source: str) -> Iterator[tuple[str, tuple[float, ...], str]]:
    """Numbers that a module names in capitals, with the sentence under each, empty where none is.

    Read off the text: the rooms above this one are not for it to import.
    """
    body = ast.parse(source).body
    for node, below in zip(body, [*body[1:], None], strict=True):
        if not isinstance(node, ast.Assign) or len(node.targets) != 1:
            continue
        target = node.targets[0]
        names = target.elts if isinstance(target, ast.Tuple) else [target]
        found = [name.id for name in names if isinstance(name, ast.Name) and name.id.isupper()]
        values = node.value.elts if isinstance(node.value, ast.Tuple) else [node.value]
        numbers = [v.value for v in values if isinstance(v, ast.Constant)]
        sound = len(numbers) == len(values) and all(type(v) in (int, float) for v in numbers)
        if not found or not numbers or not sound:
            continue
        words = ""
        if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant):
            words = str(below.value.value)
        figures = [float(v) for v in numbers if isinstance(v, int | float)]
        yield ", ".join(found), tuple(figures), words


def _listed(values: Sequence[float]) -> str:
    return ", ".join(_number(value) for value in values)


def _cable(cable: CableType) -> str:
    parts = [
        f"## Cable `{cable.id}`: {cable.name}\n\n{_source(cable.basis)}\n\n"
        f"Rated {cable.rated_temperature_c:g} °C, {'tinned' if cable.tinned else 'plain'} copper, "
        f"{cable.reactance_ohm_per_km:g} ohm/km at 50 Hz."
    ]
    for table in cable.tables:
        rows = [
            (
                " ".join(filter(None, (f"{size.csa_mm2:g}", size.label and f"({size.label})"))),
                _number(size.two_loaded_a),
                _number(size.three_loaded_a),
            )
            for size in table.sizes
        ]
        factors = [
            (
                what,
                ", ".join(
                    f"{argument:g}: {factor:.2f}"
                    for argument, factor in zip(read.arguments, read.factors, strict=True)
                )
                + (", and so on" if read.open_ended else ""),
                read.basis.kind,
                read.basis.text,
            )
            for what, read in _factor_tables(table)
        ]
        parts.append(
            f"### `{table.id}`: {table.standard}\n\n{_source(table.basis)}\n\n"
            f"Holds at {table.reference_ambient_c:g} °C; a loaded neutral costs "
            f"{table.four_loaded_factor:.2f}.\n\n"
            + _table(("mm²", "two loaded (A)", "three loaded (A)"), rows)
            + "\n"
            + _table(("factor by", "argument: factor", "kind", "source"), factors)
        )
    return "\n\n".join(part.rstrip("\n") for part in parts) + "\n"


def _factor_tables(table: CableTable) -> tuple[tuple[str, FactorTable], ...]:
    return (
        ("ambient (°C)", table.ambient),
        ("circuits, bunched", table.grouping_bunched),
        ("circuits, one layer", table.grouping_surface),
        ("layers on a drum", table.drum_layers),
    )


def _regions(catalogue: Catalogue) -> Iterator[str]:
    for region in catalogue.regions.values():
        rows = [(name, basis.kind, basis.text) for name, basis in region.bases.items()]
        rows += [(f"colours: {c.code}", c.basis.kind, c.basis.text) for c in region.colours]
        yield f"## Region `{region.id}`: {region.name}\n\n" + _table(
            ("figure", "kind", "source"), rows
        )


def _outlet_standards(catalogue: Catalogue) -> Mapping[str, OutletStandard]:
    return {o.id: o for region in catalogue.regions.values() for o in region.outlets}


def _outlets(catalogue: Catalogue) -> str:
    outlets = _outlet_standards(catalogue)
    return "## Outlets\n\n" + _table(
        ("outlet", "standard", "kind", "source"),
        [
            (f"`{key}`", outlets[key].standard, outlets[key].basis.kind, outlets[key].basis.text)
            for key in sorted(outlets)
        ],
    )


def _boards(catalogue: Catalogue) -> str:
    return "## Boards\n\n" + _table(
        ("board", "kind", "source"),
        [(f"`{b.id}`", b.basis.kind, b.basis.text) for b in catalogue.boards.values()],
    )


def _fixtures(catalogue: Catalogue) -> str:
    """Fixtures by the word they rest on, since whole families share one."""
    by_basis: dict[Basis, list[str]] = {}
    for fixture in catalogue.fixtures.values():
        by_basis.setdefault(fixture.basis, []).append(fixture.slug)
    parts = [
        f"{_source(basis)}\n\n" + ", ".join(f"`{slug}`" for slug in slugs)
        for basis, slugs in by_basis.items()
    ]
    return "## Fixtures\n\n" + "\n\n".join(parts) + "\n"


def _source(basis: Basis) -> str:
    return f"*{basis.kind}*: {basis.text}"


def _number(value: float | None) -> str:
    if value is None:
        return ""
    return "any" if math.isinf(value) else f"{value:g}"


def _table(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    lines = [columns, ["---"] * len(columns), *rows]
    return "".join("| " + " | ".join(_cell(cell) for cell in line) + " |\n" for line in lines)


def _cell(value: object) -> str:
    return " ".join(str(value).split()).replace("|", "\\|")


if __name__ == "__main__":
    sys.exit(main())
