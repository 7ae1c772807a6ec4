"""Who may: one decorator on every view says it, and a view without it fails the access matrix.

Four kinds of callers come with a secret in ``Authorization: Bearer``: the desk with a key, a crew
with the link of its order, a phone with the link of one layout that may read it or plug on it.
Everybody else is the public. A link opens its own order or layout and nothing else; what it does
not open is "not there" for it, so that nobody learns what else the desk has.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import wraps
from typing import Any

from flask import g, request

from evenboard.api.problem import Problem
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.store import keys, links
from evenboard.store.audit import Who

__all__ = [
    "CREW",
    "DESK",
    "PLUG",
    "PUBLIC",
    "READ",
    "SECURITY_SCHEMES",
    "Caller",
    "Role",
    "caller",
    "known_caller",
    "may",
    "rule_of",
]


class Role(StrEnum):
    """A kind of caller."""

    PUBLIC = "public"
    CREW = "crew"
    READ = "read-link"
    PLUG = "plug-link"
    DESK = "desk"


PUBLIC, CREW, READ, PLUG, DESK = Role

_WORDS = {
    CREW: "A crew link reads its order's layouts and posts readings",
    READ: "This link reads its layout",
    PLUG: "This link plugs on its layout and posts readings",
    DESK: "A desk key is not a link",
}
_NEEDED = {
    CREW: "a crew link of the order",
    READ: "a link of the layout",
    PLUG: "a link of the layout that may plug",
    DESK: "the rental desk's key",
}
_SCHEMES = {CREW: "crewLink", READ: "layoutLink", PLUG: "layoutLink", DESK: "deskKey"}
SECURITY_SCHEMES = {
    "deskKey": "A key of the rental desk, made with `evenboard key new` or `POST /v1/keys`.",
    "crewLink": "The secret of a crew's link to one order.",
    "layoutLink": "The secret of a link to one layout.",
}
"""How a caller shows who it is, for the OpenAPI document."""
_LINK_ROLES = {"crew": CREW, "read": READ, "plug": PLUG}
_SPEC = Blueprint("access", __name__)


@dataclass(frozen=True, slots=True)
class Caller:
    """Whoever makes this request: the id and name of the key or link, and what a link opens."""

    role: Role
    id: str = ""
    name: str = ""
    order_ref: str | None = None
    layout_id: str | None = None

    @property
    def who(self) -> Who:
        """As the trail and a layout's history keep it."""
        return Who(self.role, self.id, self.name)

    @property
    def repeats(self) -> str:
        """The name under which repeated posts of this caller are known."""
        return f"{self.role[0]}:{self.id}"

    def opens(self, layout_id: str, order_ref: str | None) -> bool:
        """Whether a layout, which may belong to an order, is this caller's to look at."""
        if self.role is DESK:
            return True
        if self.role is CREW:
            return order_ref is not None and order_ref == self.order_ref
        return self.role in (READ, PLUG) and layout_id == self.layout_id

    def opens_order(self, order_ref: str) -> bool:
        """Whether an order is this caller's to look at."""
        return self.role is DESK or (self.role is CREW and order_ref == self.order_ref)


_ANYBODY = Caller(PUBLIC)


def may(*roles: Role) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Let these roles through and no other; ``may(PUBLIC)`` lets everybody.

    It stands right under the route, above what reads the body, so that a stranger learns nothing
    of a body's faults. Behind it :func:`caller` says who it is. Refuses with 401 who shows no
    secret or one that is not in force, with 403 who has another role.
    """
    if not roles:
        raise ValueError("say who may: one role at least")

    def guarding(view: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(view)
        def guarded(*arguments: Any, **options: Any) -> Any:
            # A public view asks nobody who they are: that saves a look into the store.
            g.caller = _ANYBODY if PUBLIC in roles else _allowed(roles)
            return view(*arguments, **options)

        guarded.may = frozenset(roles)  # type: ignore[attr-defined]
        if PUBLIC in roles:
            return guarded
        ways: list[dict[str, list[str]]] = [
            {name: []} for name in dict.fromkeys(_SCHEMES[role] for role in roles)
        ]
        documented: Callable[..., Any] = Blueprint.doc(security=ways)(guarded)
        refused: Callable[..., Any] = _SPEC.refuses(401, 403)(documented)
        return refused

    return guarding


def rule_of(view: Callable[..., Any]) -> frozenset[Role] | None:
    """Who may use a view; None where it does not say."""
    rule: frozenset[Role] | None = getattr(view, "may", None)
    return rule


def caller() -> Caller:
    """Who makes this request; behind :func:`may` only."""
    who: Caller = g.caller
    return who


def known_caller() -> Caller:
    """Who makes this request, on a public route too; whose secret is not in force is anybody."""
    if g.caller is not _ANYBODY:
        return caller()
    if "known_caller" not in g:
        given = request.authorization
        found = None
        if given is not None and given.type == "bearer" and given.token:
            found = _recognised(given.token)
        g.known_caller = found or _ANYBODY
    who: Caller = g.known_caller
    return who


def _allowed(roles: tuple[Role, ...]) -> Caller:
    given = request.authorization
    needed = " or ".join(dict.fromkeys(_NEEDED[role] for role in roles))
    if given is None or given.type != "bearer" or not given.token:
        raise Problem(
            401,
            f"This is for {needed}: send its secret as Authorization: Bearer <secret>.",
            headers={"WWW-Authenticate": 'Bearer realm="evenboard"'},
        )
    found = _recognised(given.token)
    if found is None:
        raise Problem(
            401,
            "This key or link is not in force: it was never made here, has expired, or was "
            f"revoked. Here {needed} is right.",
            headers={"WWW-Authenticate": 'Bearer realm="evenboard", error="invalid_token"'},
        )
    if found.role not in roles:
        raise Problem(403, f"{_WORDS[found.role]}. This needs {needed}.")
    return found


def _recognised(secret: str) -> Caller | None:
    with state().store.reading() as session:
        if secret.startswith(links.PREFIX):
            link = links.holder(session, secret)
            if link is None:
                return None
            role = _LINK_ROLES[link.may]
            return Caller(role, link.id, link.name, link.order_ref, link.layout_id)
        key = keys.holder(session, secret)
        return None if key is None else Caller(DESK, key.id, key.name)
