"""How the client calls: one session, retries only where they are safe, pages, refusals."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping
from types import TracebackType
from typing import Any, Self
from urllib.parse import quote

import requests
from requests.adapters import HTTPAdapter
from urllib3.util.retry import Retry

from evenboard_client.errors import Refused, Unreachable

__all__ = ["Calls", "Json", "part"]

Json = dict[str, Any]


def part(name: str) -> str:
    """A name as one part of a path, whatever characters are in it."""
    return quote(name, safe="")


class Calls:
    """What all groups of methods share; :class:`~evenboard_client.Client` tells the rest."""

    def __init__(self, base_url: str, token: str | None = None, timeout: float = 10) -> None:
        self.base_url = base_url.rstrip("/")
        self.timeout = timeout
        self._session = requests.Session()
        self._session.headers["Accept"] = "application/json"
        if token is not None:
            self._session.headers["Authorization"] = f"Bearer {token}"
        again = Retry(
            total=3,
            backoff_factor=0.2,
            status_forcelist=(429, 503),
            # GET reads. POST is either a sum or carries an Idempotency-Key, see _post.
            allowed_methods=("GET", "POST"),
            raise_on_status=False,
        )
        for scheme in ("http://", "https://"):
            self._session.mount(scheme, HTTPAdapter(max_retries=again))

    def __enter__(self) -> Self:
        """Use the client in a ``with`` block."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the client at the end of the block."""
        self.close()

    def close(self) -> None:
        """Close the connections."""
        self._session.close()

    def _pages(self, path: str, query: Mapping[str, Any]) -> Iterator[Json]:
        cursor: str | None = None
        while True:
            page = self._json("GET", path, params={**query, "cursor": cursor})
            yield from page["items"]
            cursor = page["next_cursor"]
            if cursor is None:
                return

    def _post(
        self,
        path: str,
        body: Mapping[str, Any],
        idempotency_key: str | None,
        timeout: float | None = None,
    ) -> Json:
        headers = {"Idempotency-Key": f'"{idempotency_key or uuid.uuid4().hex}"'}
        return self._json("POST", path, json=dict(body), headers=headers, timeout=timeout)

    def _put(self, path: str, body: Mapping[str, Any], etag: str) -> Json:
        return self._json("PUT", path, json=dict(body), headers={"If-Match": etag})

    def _etag(self, path: str) -> str:
        return self._send("GET", path).headers["ETag"]

    def _json(self, method: str, path: str, **options: Any) -> Json:
        answer: Json = self._send(method, path, **options).json()
        return answer

    def _send(
        self, method: str, path: str, *, timeout: float | None = None, **options: Any
    ) -> requests.Response:
        try:
            response = self._session.request(
                method, self.base_url + path, timeout=timeout or self.timeout, **options
            )
        except requests.RequestException as error:
            raise Unreachable(f"No answer from {self.base_url}: {error}") from error
        if not response.ok:
            raise Refused(response)
        return response
