"""Where the data files and the web client are: in the installed package, else in the checkout."""

from __future__ import annotations

from pathlib import Path

__all__ = ["catalogue_folder", "web_folder"]

_PACKAGE = Path(__file__).resolve().parent
_CHECKOUT = _PACKAGE.parents[1]


def catalogue_folder() -> Path:
    """The folder of the fixture, cable, board and region files."""
    packaged = _PACKAGE / "_catalogue"
    return packaged if packaged.is_dir() else _CHECKOUT / "fixtures_catalog"


def web_folder() -> Path:
    """The folder of the web client's files."""
    packaged = _PACKAGE / "_web"
    return packaged if packaged.is_dir() else _CHECKOUT / "clients" / "web"
