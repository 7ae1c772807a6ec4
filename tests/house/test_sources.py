"""No figure without its word: the page of sources is what the data say, and the data say it all."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from dataclasses import fields
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import pytest

import evenboard.electrics
from evenboard.catalogue import Catalogue
from evenboard.catalogue.sources import JUDGING, said_numbers, sources_page
from evenboard.electrics.constant import Constant, Table, figures_of
from evenboard.electrics.equipment import Limits
from evenboard.electrics.limits import LIMIT_BASES
from evenboard.paths import catalogue_folder

MODULES = [
    importlib.import_module(f"evenboard.electrics.{info.name}")
    for info in pkgutil.iter_modules(evenboard.electrics.__path__)
]


def test_the_page_of_sources_is_what_the_data_say(catalogue: Catalogue) -> None:
    written = (catalogue_folder() / "SOURCES.md").read_text(encoding="utf-8")

    assert written == sources_page(catalogue), "run `python -m evenboard.catalogue.sources`"


def said_below(module: ModuleType) -> set[str]:
    """Names with a sentence under them: an index or a tolerance of the arithmetic, no figure."""
    body = ast.parse(inspect.getsource(module)).body
    return {
        target.id
        for node, below in pairwise(body)
        if isinstance(node, ast.Assign)
        and isinstance(below, ast.Expr)
        and isinstance(below.value, ast.Constant)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


@pytest.mark.parametrize("room", JUDGING)
def test_a_threshold_says_what_it_is(room: str) -> None:
    folder = Path(evenboard.__path__[0]) / room
    silent = [
        (file.name, name)
        for file in folder.glob("*.py")
        for name, _, words in said_numbers(file.read_text(encoding="utf-8"))
        if not words.strip()
    ]

    assert silent == []


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_a_number_of_the_electrics_carries_its_source_or_says_what_it_is(
    module: ModuleType,
) -> None:
    numbers = {name for name in module.__all__ if isinstance(getattr(module, name), int | float)}

    assert numbers <= said_below(module)


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_what_is_from_memory_or_estimated_says_so(module: ModuleType) -> None:
    for figure in figures_of(module):
        assert figure.basis.text.strip()
        if "from memory" in figure.basis.text:
            assert figure.basis.kind in ("memory", "estimate"), figure.name


def test_cable_tables_say_how_they_are_known(catalogue: Catalogue) -> None:
    for cable in catalogue.cables.values():
        for table in cable.tables:
            parts = (table.ambient, table.grouping_bunched, table.grouping_surface)
            for basis in (table.basis, *(f.basis for f in (*parts, table.drum_layers))):
                if "from memory" in basis.text:
                    assert basis.kind in ("memory", "estimate"), (cable.id, table.id, basis.text)


def test_every_general_limit_has_its_word() -> None:
    assert set(LIMIT_BASES) == {field.name for field in fields(Limits)}


def test_figures_are_those_of_the_module_itself() -> None:
    from evenboard.electrics import load, tungsten

    own = {figure.name for figure in figures_of(load)}

    assert tungsten.POWER_EXPONENT.name not in own
    assert all(isinstance(figure, Constant | Table) for figure in figures_of(load))


def test_a_table_refuses_a_row_that_is_too_short() -> None:
    basis = LIMIT_BASES["spread_pct"]

    with pytest.raises(ValueError, match="has not 2 cells"):
        Table("table", ("a", "b"), ((1.0,),), basis)
