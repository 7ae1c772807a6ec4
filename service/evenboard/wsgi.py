"""Gunicorn's door: ``gunicorn "evenboard.wsgi:create_app()"``; nothing is made at import."""

from evenboard.api import create_app

__all__ = ["create_app"]
