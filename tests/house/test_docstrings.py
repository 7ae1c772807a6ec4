"""Public sums say what goes in, what comes out, what is refused, and on whose word."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import pytest

import evenboard.electrics
import evenboard.planning

SECTIONS = re.compile(r"^(\w[\w ]+)\n-{3,}$", re.MULTILINE)


def modules() -> Iterator[ModuleType]:
    for package in (evenboard.electrics, evenboard.planning):
        for info in pkgutil.iter_modules(package.__path__, package.__name__ + "."):
            yield importlib.import_module(info.name)


def public_functions() -> list[Callable[..., Any]]:
    found = []
    for module in modules():
        for name in getattr(module, "__all__", ()):
            thing = getattr(module, name)
            if inspect.isfunction(thing) and thing.__module__ == module.__name__:
                found.append(thing)
    return found


def sections(function: Callable[..., Any]) -> dict[str, str]:
    doc = inspect.getdoc(function) or ""
    parts = SECTIONS.split(doc)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def every(function: Callable[..., Any]) -> str:
    return f"{function.__module__}.{function.__name__}"


@pytest.mark.parametrize("module", list(modules()), ids=lambda m: m.__name__)
def test_a_module_says_what_it_is_for_and_what_it_promises(module: ModuleType) -> None:
    assert (module.__doc__ or "").strip()

    assert hasattr(module, "__all__")


@pytest.mark.parametrize("function", public_functions(), ids=every)
def test_every_argument_is_described(function: Callable[..., Any]) -> None:
    arguments = [p for p in inspect.signature(function).parameters if p != "self"]

    described = sections(function).get("Parameters", "")

    missing = [a for a in arguments if not re.search(rf"^\*?\*?.*\b{a}\b.*:", described, re.M)]
    assert not missing, f"{every(function)} does not describe {missing}"


@pytest.mark.parametrize("function", public_functions(), ids=every)
def test_result_errors_and_source_are_named(function: Callable[..., Any]) -> None:
    found = sections(function)
    source = inspect.getsource(function)

    assert "Returns" in found or "Yields" in found
    assert "References" in found, f"{every(function)} names no source"
    if re.search(r"^\s+raise \w", source, re.M):
        assert "Raises" in found, f"{every(function)} raises and does not say so"
