"""The client: one method a route, one session, retries only where they are safe."""

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

__all__ = ["Client"]

Json = dict[str, Any]


class Client:
    """An Evenboard service at ``base_url``.

    ``token`` is the rental desk's key, needed only to change things. ``timeout`` is in seconds, for
    each try. A call is tried again, up to three times, after a lost connection, a 429 or a 503,
    where that cannot do a thing twice: reads, sums, and creations (they carry an Idempotency-Key).
    Changes and removals are tried once.

    Every method raises :class:`~evenboard_client.Refused` where the service says no and
    :class:`~evenboard_client.Unreachable` where it does not answer.
    """

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

    def fixtures(self, q: str = "", **filters: Any) -> Iterator[Json]:
        """All fixture types that fit, best first, fetched page by page as they are looked at.

        ``filters`` are those of the route: ``family``, ``size_class``, ``min_power_w``,
        ``max_power_w``, ``max_current_a``, ``voltage_v``, ``region``, ``limit`` (of a page).
        """
        return self._pages("/v1/fixtures", {"q": q, **filters})

    def fixture(self, slug: str, **query: Any) -> Json:
        """One fixture type; ``voltage_v`` or ``region`` say for which voltage."""
        return self._json("GET", f"/v1/fixtures/{quote(slug, safe='')}", params=query)

    def add_fixture(self, fixture: Mapping[str, Any], idempotency_key: str | None = None) -> Json:
        """Add a fixture type of the desk's own. Give a key of your own to repeat it later."""
        return self._post("/v1/fixtures", fixture, idempotency_key or uuid.uuid4().hex)

    def replace_fixture(self, slug: str, fixture: Mapping[str, Any], etag: str) -> Json:
        """Replace a fixture type of the desk's own; ``etag`` as :meth:`fixture_etag` gave it."""
        path = f"/v1/fixtures/{quote(slug, safe='')}"
        return self._json("PUT", path, json=dict(fixture), headers={"If-Match": etag})

    def remove_fixture(self, slug: str, etag: str) -> None:
        """Take a fixture type of the desk's own out."""
        path = f"/v1/fixtures/{quote(slug, safe='')}"
        self._send("DELETE", path, headers={"If-Match": etag})

    def fixture_etag(self, slug: str) -> str:
        """The tag of a fixture type as it is now, for a change against just that."""
        return self._send("GET", f"/v1/fixtures/{quote(slug, safe='')}").headers["ETag"]

    def regions(self) -> Iterator[Json]:
        """All region profiles: voltages, colours, outlets, limits."""
        return self._pages("/v1/regions", {})

    def boards(self, region: str | None = None) -> Iterator[Json]:
        """All generic board types, or those of one region."""
        return self._pages("/v1/boards", {"region": region})

    def cables(self) -> Iterator[Json]:
        """All cable types with their rating tables."""
        return self._pages("/v1/cables", {})

    def demo_layouts(self) -> Iterator[Json]:
        """The layouts to try things with; none where the service leaves the demo out."""
        return self._pages("/v1/demo/layouts", {})

    def balance(self, layout: Mapping[str, Any]) -> Json:
        """What a layout as plugged does: phases, neutral, boards, cables, findings."""
        return self._json("POST", "/v1/balance", json=dict(layout))

    def phase_table(self, layout: Mapping[str, Any]) -> str:
        """The phase table of a layout as CSV text."""
        headers = {"Accept": "text/csv"}
        return self._send("POST", "/v1/balance", json=dict(layout), headers=headers).text

    def _pages(self, path: str, query: Mapping[str, Any]) -> Iterator[Json]:
        cursor: str | None = None
        while True:
            page = self._json("GET", path, params={**query, "cursor": cursor})
            yield from page["items"]
            cursor = page["next_cursor"]
            if cursor is None:
                return

    def _post(self, path: str, body: Mapping[str, Any], idempotency_key: str) -> Json:
        headers = {"Idempotency-Key": f'"{idempotency_key}"'}
        return self._json("POST", path, json=dict(body), headers=headers)

    def _json(self, method: str, path: str, **options: Any) -> Json:
        answer: Json = self._send(method, path, **options).json()
        return answer

    def _send(self, method: str, path: str, **options: Any) -> requests.Response:
        try:
            response = self._session.request(
                method, self.base_url + path, timeout=self.timeout, **options
            )
        except requests.RequestException as error:
            raise Unreachable(f"No answer from {self.base_url}: {error}") from error
        if not response.ok:
            raise Refused(response)
        return response
