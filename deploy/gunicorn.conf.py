"""Gunicorn's settings: everything that the environment may change comes from the service's own.

Tried and measured on two cores: without ``reuse_port`` all kept-alive connections may land on one
worker, and two workers then do the work of one.
"""

import contextlib
import json
import os
import shutil
import socket
import ssl
import tempfile
import threading
import time
from http import HTTPStatus

from gunicorn import util

from evenboard.api import read_config

settings = read_config()

host = f"[{settings.host}]" if ":" in settings.host else settings.host
bind = settings.host if settings.socket else f"{host}:{settings.port}"
workers = settings.workers
worker_class = "gthread"
threads = settings.threads
reuse_port = settings.socket is None
# Version 27 otherwise opens a socket for commands in the home folder of whoever runs it.
control_socket_disable = True
# The most that gunicorn reads: what is too long is better refused by the application, which says
# in which parameter.
limit_request_line = 8190
# A proxy on a unix socket has no address to be trusted by; the application believes only as many
# proxies as EVENBOARD_PROXIES says.
forwarded_allow_ips = "*" if settings.socket else "127.0.0.1,::1"
keepalive = 15
# Without a proxy in front, as on a laptop on location.
if settings.tls_certificate:
    certfile, keyfile = str(settings.tls_certificate), str(settings.tls_key)
timeout = 60
graceful_timeout = 10
loglevel = settings.log_level
errorlog = "-"
accesslog = None
# The metrics of a worker are files; a new folder for each start has no dead worker's in it.
metrics_folder = tempfile.mkdtemp(prefix="evenboard-metrics-")
os.environ["PROMETHEUS_MULTIPROC_DIR"] = metrics_folder


def child_exit(server, worker):
    """Leave a dead worker out of the metrics that only count the living."""
    from prometheus_client import multiprocess

    multiprocess.mark_process_dead(worker.pid)


def on_exit(server):
    """Take the folder of the metrics away."""
    shutil.rmtree(metrics_folder, ignore_errors=True)


def post_worker_init(worker):
    """Send webhooks from every worker; let the first say when the service answers, and where."""
    worker.wsgi.extensions["evenboard"].sender.start()
    if worker.age == 1:
        threading.Thread(target=_announce, daemon=True).start()


def worker_exit(server, worker):
    """End the sender of webhooks; what it had in hand, another takes over."""
    application = getattr(worker, "wsgi", None)
    if application is not None:
        application.extensions["evenboard"].sender.stop()


def _announce():
    while not _answers():
        time.sleep(0.05)
    if settings.public_url:
        where = f"Open {settings.public_url} on a phone."
    elif settings.socket:
        where = f"It listens on {settings.host}; open the proxy in front of it."
    else:
        scheme = "https" if settings.tls_certificate else "http"
        address = f"{scheme}://{_lan_address()}:{settings.port}"
        where = f"Open {address} on a phone in the same network."
    print(f"Evenboard is ready. {where}", flush=True)


def _answers():
    """Whether a request for /readyz is answered with 200, over the wire like everybody's."""
    if settings.socket:
        family, address = socket.AF_UNIX, settings.socket
    else:
        # Whoever listens on every address is called at this machine's own.
        near = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(settings.host, settings.host)
        family = socket.AF_INET6 if ":" in near else socket.AF_INET
        address = (near, settings.port)
    with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_STREAM) as wire:
        wire.settimeout(5)
        wire.connect(address)
        if settings.tls_certificate:
            # Its own certificate, asked for at its own address: there is nobody to doubt.
            context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
            context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
            wire = context.wrap_socket(wire)
        wire.sendall(b"GET /readyz HTTP/1.0\r\nHost: localhost\r\n\r\n")
        return b" 200 " in wire.recv(64)
    return False


def _lan_address():
    """The address by which this machine is reached, or what it listens on where that is one."""
    if settings.host not in ("0.0.0.0", "::"):
        return host
    # Connecting a datagram socket sends nothing; it only makes the system choose its own address.
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return "127.0.0.1"
        return probe.getsockname()[0]


def _write_problem(sock, status_int, reason, mesg):
    """What gunicorn itself refuses, as a problem document like every other error."""
    phrase = HTTPStatus(status_int).phrase
    body = json.dumps(
        {"type": "about:blank", "title": phrase, "status": status_int, "detail": mesg or phrase}
    ).encode()
    head = (
        f"HTTP/1.1 {status_int} {reason}\r\nConnection: close\r\n"
        f"Content-Type: application/problem+json\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    util.write_nonblock(sock, head.encode("latin1") + body)


# There is no hook for it: a request line that is too long, or a broken header, never reaches the
# application, and gunicorn would answer with a page of HTML.
util.write_error = _write_problem
