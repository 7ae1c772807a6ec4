"""The command line's door: ``python -m evenboard serve | field | migrate | key … | demo``."""

from __future__ import annotations

import argparse
import getpass
import os
import signal
import socket
import sys
from datetime import UTC, datetime, timedelta

import segno
from gunicorn.app.wsgiapp import WSGIApplication

from evenboard.api import Config, ConfigInvalid, read_config
from evenboard.catalogue import CatalogueInvalid
from evenboard.field import FieldInvalid, local_addresses, local_names, papers, root_server
from evenboard.paths import gunicorn_settings
from evenboard.store import Session, Store, StoreUnavailable, audit, keys
from evenboard.store.audit import Who
from evenboard.store.errors import NotThere

__all__ = ["main"]

MOST_DAYS = 3660
"""Longest life of a key that has an end: ten years."""


def main(arguments: list[str] | None = None) -> int:
    """Run one command; the exit code is 0 where it did what it was asked."""
    options = _parser().parse_args(arguments)
    try:
        config = read_config()
        return int(options.run(config, options))
    except (CatalogueInvalid, ConfigInvalid, NotThere, StoreUnavailable, _Refused) as error:
        print(f"evenboard: {error}", file=sys.stderr)
        return 1


class _Refused(RuntimeError):
    """Something about this machine keeps the command from being run."""


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="evenboard", description=__doc__)
    commands = parser.add_subparsers(required=True, metavar="command")

    serve = commands.add_parser("serve", help="bring the tables up to date and serve")
    serve.set_defaults(run=_serve)

    field = commands.add_parser("field", help="serve over HTTPS on the location's own network")
    field.add_argument(
        "--name", action="append", default=[], help="a further name, such as x.local"
    )
    field.add_argument(
        "--address", action="append", default=[], help="a further address of this machine"
    )
    field.add_argument("--root-port", type=int, default=8601, help="where phones fetch the root")
    field.set_defaults(run=_field)

    migrate = commands.add_parser("migrate", help="bring the tables up to date")
    migrate.set_defaults(run=_migrate)

    demo = commands.add_parser("demo", help="send the demo layouts to a running service")
    demo.add_argument("--url", help="the service; by default this machine's")
    demo.set_defaults(run=_demo)

    key = commands.add_parser("key", help="the rental desk's keys")
    acts = key.add_subparsers(required=True, metavar="act")
    new = acts.add_parser("new", help="make a key and print it, this once")
    new.add_argument("--name", required=True, help="who has it, such as 'front desk'")
    new.add_argument("--days", type=int, help="how many days it is good for; for good by default")
    new.set_defaults(run=_key_new)
    listing = acts.add_parser("list", help="list the keys, without their secrets")
    listing.set_defaults(run=_key_list)
    revoke = acts.add_parser("revoke", help="make a key useless from now on")
    revoke.add_argument("id", help="as `key list` shows it")
    revoke.set_defaults(run=_key_revoke)
    return parser


def _store(config: Config) -> Store:
    store = Store(config.database_url)
    try:
        store.migrate()
    except OSError as error:
        raise _Refused(f"{config.data} cannot be written: {error}. Set EVENBOARD_DATA.") from error
    return store


def _migrate(config: Config, options: argparse.Namespace) -> int:
    _store(config)
    return 0


def _serve(config: Config, options: argparse.Namespace) -> int:
    # Until gunicorn takes the signal over, stopping is simply leaving.
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(0))
    _store(config).close()
    _check_free(config)
    # In this process: the workers are forked from it and need not import everything again, and
    # whoever stops it stops gunicorn and gets its exit code.
    sys.argv = ["evenboard", "--config", str(gunicorn_settings()), "evenboard.wsgi:create_app()"]
    WSGIApplication(prog="evenboard").run()
    return 0


def _field(config: Config, options: argparse.Namespace) -> int:
    if config.socket is not None:
        raise _Refused("field serves phones itself: EVENBOARD_HOST must be an address.")
    names = tuple(dict.fromkeys([*options.name, *local_names()]))
    addresses = tuple(dict.fromkeys([*options.address, *local_addresses()]))
    try:
        made = papers(config.data / "field", names, addresses)
        url = f"https://{addresses[0]}:{config.port}"
        root = root_server(config.host, options.root_port, made, url)
    except FieldInvalid as error:
        raise _Refused(str(error)) from None
    except OSError as error:
        raise _Refused(f"{config.data / 'field'} or port {options.root_port}: {error}") from None
    where = f"http://{addresses[0]}:{root.server_port}"
    segno.make(where, error="m").terminal(compact=True)
    print(f"Each phone once: {where}")
    print(f"Fingerprint of the root: {made.fingerprint}")
    print(f"Then: {url} (also {', '.join(f'https://{name}:{config.port}' for name in names)})")
    sys.stdout.flush()
    root.serve_beside()
    os.environ["EVENBOARD_TLS_CERTIFICATE"] = str(made.certificate)
    os.environ["EVENBOARD_TLS_KEY"] = str(made.key)
    os.environ.setdefault("EVENBOARD_PUBLIC_URL", url)
    return _serve(config, options)


def _check_free(config: Config) -> None:
    """Refuse a port that is in use: the workers share theirs, and would share a stranger's too."""
    if config.socket is not None:
        return
    family = socket.AF_INET6 if ":" in config.host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((config.host, config.port))
        except OSError as error:
            raise _Refused(
                f"cannot listen on {config.host} port {config.port}: {error.strerror}. "
                "Is it running already? Another port: EVENBOARD_PORT."
            ) from None


def _demo(config: Config, options: argparse.Namespace) -> int:
    from evenboard_client import Client, EvenboardError

    url = options.url or f"http://127.0.0.1:{config.port}"
    try:
        with Client(url) as client:
            for demo in client.demo_layouts():
                _show(demo["title"], client.balance(demo["layout"]))
    except EvenboardError as error:
        print(f"evenboard: {error}", file=sys.stderr)
        return 1
    return 0


def _show(title: str, answer: dict[str, object]) -> None:
    print(f"\n{title}: {answer['verdict']}")
    for phase in _listed(answer["phases"]):
        print(
            f"  {phase['phase']}  {phase['current_a']:7.2f} A of {phase['rating_a']:g} A"
            f"  {phase['loading_pct']:5.1f} %"
        )
    for finding in _listed(answer["findings"]):
        print(f"  {finding['severity']}: {finding['message']} {finding['remedy']}")


def _listed(value: object) -> list[dict[str, object]]:
    return value if isinstance(value, list) else []


def _key_new(config: Config, options: argparse.Namespace) -> int:
    name = options.name.strip()
    if not name.isprintable() or not 1 <= len(name) <= 100:
        raise _Refused("--name must have 1 to 100 printable characters")
    if options.days is not None and not 1 <= options.days <= MOST_DAYS:
        raise _Refused(f"--days must be from 1 to {MOST_DAYS}")
    lasts = None if options.days is None else timedelta(days=options.days)
    with _store(config).writing() as session:
        expires_at = None if lasts is None else datetime.now(UTC) + lasts
        key, secret = keys.create(session, name, expires_at)
        _tell(session, f"Made key {key.id}, {key.name}.")
    print(f"Key {key.id} for {key.name}. It is shown this once; keep it like a password:")
    print(secret)
    return 0


def _tell(session: Session, what: str) -> None:
    """A line of the trail: whoever sits at the machine."""
    audit.record(session, Who("command-line", "", getpass.getuser()), "", "evenboard key", what)


def _key_list(config: Config, options: argparse.Namespace) -> int:
    with _store(config).reading() as session:
        listed = keys.listing(session)
    for key in listed:
        state = "in force"
        if key.revoked_at is not None:
            state = f"revoked {key.revoked_at:%Y-%m-%d}"
        elif key.expires_at is not None:
            over = key.expires_at <= datetime.now(UTC)
            state = f"{'ended' if over else 'until'} {key.expires_at:%Y-%m-%d}"
        print(f"{key.id}  {key.created_at:%Y-%m-%d}  {state:18}  {key.name}")
    return 0


def _key_revoke(config: Config, options: argparse.Namespace) -> int:
    with _store(config).writing() as session:
        key = keys.revoke(session, options.id)
        _tell(session, f"Revoked key {key.id}, {key.name}.")
    print(f"Key {key.id} of {key.name} is useless from now on.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
