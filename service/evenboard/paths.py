"""Where data files, web client and server settings are: in the package, else in the checkout."""

from __future__ import annotations

from pathlib import Path

__all__ = ["catalogue_folder", "demo_folder", "gunicorn_settings", "web_folder"]

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


def gunicorn_settings() -> Path:
    """The file of gunicorn's settings."""
    packaged = _PACKAGE / "_gunicorn.conf.py"
    return packaged if packaged.is_file() else _CHECKOUT / "deploy" / "gunicorn.conf.py"


def demo_folder() -> Path:
    """The folder of the demo's layouts."""
    return _PACKAGE / "demo"
