"""The settings: each with its name, its default and one sentence; all are checked at start."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from evenboard.desk.descriptions import MOST_MONTHS
from evenboard.store import driver_url

__all__ = ["SETTINGS", "Config", "ConfigInvalid", "Setting", "read_config"]

_CHECKOUT = Path(__file__).resolve().parents[3]
_LOG_LEVELS = ("debug", "info", "warning", "error")


class ConfigInvalid(ValueError):
    """One or more settings cannot be used; the message names every one of them."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting of the service, read from the environment."""

    name: str
    field: str
    default: str
    sentence: str
    read: Callable[[str], Any]


@dataclass(frozen=True, slots=True)
class Config:
    """All settings, read and checked."""

    host: str
    port: int
    data: Path
    database_url: str
    demo: bool
    workers: int
    threads: int
    max_body_bytes: int
    requests_per_minute: int
    proxies: int
    public_url: str
    tls_certificate: Path | None
    tls_key: Path | None
    webhook_hosts: frozenset[str]
    log_level: str
    max_photo_bytes: int
    region: str
    test_interval_months: int | None

    @property
    def socket(self) -> str | None:
        """The path of the unix socket to listen on, or None for TCP."""
        return self.host.removeprefix("unix:") if self.host.startswith("unix:") else None


def _whole(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not re.fullmatch(r"[0-9]{1,12}", text) or not low <= int(text) <= high:
            raise ValueError(f"must be a whole number from {low} to {high}")
        return int(text)

    return read


def _switch(text: str) -> bool:
    if text not in ("0", "1"):
        raise ValueError("must be 0 or 1")
    return text == "1"


def _months(text: str) -> int | None:
    return None if not text else _whole(1, MOST_MONTHS)(text)


def _region(text: str) -> str:
    if not re.fullmatch(r"[a-z]{2,16}", text):
        raise ValueError("must be the id of a region profile, such as au")
    return text


def _host(text: str) -> str:
    if not text or text == "unix:":
        raise ValueError("must be an address to listen on, such as 0.0.0.0, or unix:/path")
    return text


def _url(text: str) -> str:
    if text and not re.fullmatch(r"https?://[^\s/?#]+(/[^\s?#]*)?", text):
        raise ValueError("must be the address people open, such as https://board.example")
    return text.rstrip("/")


def _file(text: str) -> Path | None:
    path = Path(text).expanduser().resolve() if text else None
    if path is not None and not os.access(path, os.R_OK):
        raise ValueError("there is no file of that name that can be read")
    return path


def _hosts(text: str) -> frozenset[str]:
    hosts = [host.strip().lower() for host in text.split(",")] if text else []
    if not all(re.fullmatch(r"[a-z0-9]([a-z0-9.-]*[a-z0-9])?|[0-9a-f:]+", host) for host in hosts):
        raise ValueError("must be host names with commas between them, such as orders.lan")
    return frozenset(hosts)


def _level(text: str) -> str:
    if text not in _LOG_LEVELS:
        raise ValueError(f"must be one of {', '.join(_LOG_LEVELS)}")
    return text


def _data_default() -> str:
    """The checkout's ``.data`` where that can be written, else the user's own folder."""
    if (_CHECKOUT / "deploy" / "run").is_file() and os.access(_CHECKOUT, os.W_OK):
        return str(_CHECKOUT / ".data")
    home = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return str(Path(home) / "evenboard")


SETTINGS: tuple[Setting, ...] = (
    Setting(
        "EVENBOARD_HOST",
        "host",
        "0.0.0.0",
        "Address to listen on, or `unix:/path` for a socket behind a proxy.",
        _host,
    ),
    Setting("EVENBOARD_PORT", "port", "8600", "Port to listen on.", _whole(1, 65535)),
    Setting(
        "EVENBOARD_DATA",
        "data",
        "",
        "Folder of the SQLite file; on a local disk. Default: `.data` in the checkout, "
        "else `~/.local/share/evenboard`.",
        lambda text: Path(text or _data_default()).expanduser().resolve(),
    ),
    Setting(
        "DATABASE_URL",
        "database_url",
        "",
        "A PostgreSQL address (`postgresql://…`) or SQLite file (`sqlite:///…`). "
        "Default: `evenboard.sqlite` in `EVENBOARD_DATA`.",
        driver_url,
    ),
    Setting("EVENBOARD_DEMO", "demo", "1", "`0` leaves the demo out.", _switch),
    Setting(
        "EVENBOARD_WORKERS",
        "workers",
        "2",
        "Worker processes; as many as there are cores.",
        _whole(1, 64),
    ),
    Setting("EVENBOARD_THREADS", "threads", "4", "Threads in each worker.", _whole(1, 64)),
    Setting(
        "EVENBOARD_MAX_BODY_BYTES",
        "max_body_bytes",
        "1048576",
        "Largest request body that is read; larger ones are answered 413.",
        _whole(1024, 2**30),
    ),
    Setting(
        "EVENBOARD_REQUESTS_PER_MINUTE",
        "requests_per_minute",
        "1200",
        "Requests under `/v1` that one address may make in a minute, all workers together; "
        "`0` sets no limit.",
        _whole(0, 10**9),
    ),
    Setting(
        "EVENBOARD_PROXIES",
        "proxies",
        "0",
        "How many proxies of your own stand in front; their `X-Forwarded-For` and "
        "`X-Forwarded-Proto` are then believed.",
        _whole(0, 8),
    ),
    Setting(
        "EVENBOARD_PUBLIC_URL",
        "public_url",
        "",
        "Address that people open, where it is not this machine's own (behind a proxy).",
        _url,
    ),
    Setting(
        "EVENBOARD_TLS_CERTIFICATE",
        "tls_certificate",
        "",
        "File of a certificate (PEM), to serve over HTTPS without a proxy.",
        _file,
    ),
    Setting("EVENBOARD_TLS_KEY", "tls_key", "", "File of the certificate's key (PEM).", _file),
    Setting(
        "EVENBOARD_WEBHOOK_HOSTS",
        "webhook_hosts",
        "",
        "Hosts inside your network that webhooks may go to, with commas between them; any other "
        "internal address is refused.",
        _hosts,
    ),
    Setting(
        "EVENBOARD_LOG_LEVEL",
        "log_level",
        "warning",
        "`debug`, `info` (one line a request), `warning` or `error`; JSON lines on stderr.",
        _level,
    ),
    Setting(
        "EVENBOARD_MAX_PHOTO_BYTES",
        "max_photo_bytes",
        "12582912",
        "Largest photo of a piece of equipment that is read; larger ones are answered 413.",
        _whole(1024, 2**28),
    ),
    Setting(
        "EVENBOARD_REGION",
        "region",
        "au",
        "Region where the desk is; its practice says how often equipment is tested.",
        _region,
    ),
    Setting(
        "EVENBOARD_TEST_INTERVAL_MONTHS",
        "test_interval_months",
        "",
        "Months between tests of a piece that has no interval of its own. "
        "Default: the region's practice, or 3 where it has none.",
        _months,
    ),
)


def read_config(source: Mapping[str, str] | None = None) -> Config:
    """Read all settings from a mapping, by default the environment.

    Raises :class:`ConfigInvalid` with every fault at once.
    """
    source = os.environ if source is None else source
    values: dict[str, Any] = {}
    faults: list[str] = []
    for setting in SETTINGS:
        text = str(source.get(setting.name) or setting.default).strip()
        try:
            values[setting.field] = setting.read(text)
        except ValueError as error:
            # A database address may hold a password: it is not repeated.
            shown = "" if setting.field == "database_url" else f"={text!r}"
            faults.append(f"{setting.name}{shown}: {error}")
    if not faults and (values["tls_certificate"] is None) != (values["tls_key"] is None):
        faults.append("EVENBOARD_TLS_CERTIFICATE and EVENBOARD_TLS_KEY go together: set both.")
    if faults:
        raise ConfigInvalid(faults)
    if not values["database_url"]:
        values["database_url"] = f"sqlite:///{values['data'] / 'evenboard.sqlite'}"
    return Config(**values)
