"""The service's HTTP side: settings in, bytes in, bytes out. The only room that knows the web."""

from evenboard.api.app import create_app
from evenboard.api.config import SETTINGS, Config, ConfigInvalid, read_config

__all__ = ["SETTINGS", "Config", "ConfigInvalid", "create_app", "read_config"]
