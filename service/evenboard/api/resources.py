"""All resources, in the order in which the OpenAPI document shows them."""

from __future__ import annotations

from evenboard.api import (
    audit,
    balance,
    boards,
    cables,
    changes,
    equipment,
    equipment_events,
    equipment_files,
    equipment_history,
    equipment_photos,
    fixtures,
    keys,
    layouts,
    links,
    ops,
    orders,
    plan,
    readings,
    regions,
    reports,
    signing_keys,
    startup,
    verify,
    webhooks,
)
from evenboard.api.spec import Blueprint

__all__ = ["RESOURCES"]

RESOURCES: tuple[Blueprint, ...] = (
    fixtures.blueprint,
    regions.blueprint,
    boards.blueprint,
    cables.blueprint,
    balance.blueprint,
    plan.blueprint,
    startup.blueprint,
    layouts.blueprint,
    changes.blueprint,
    readings.blueprint,
    orders.blueprint,
    reports.blueprint,
    verify.blueprint,
    signing_keys.blueprint,
    webhooks.blueprint,
    links.blueprint,
    equipment.blueprint,
    equipment_events.blueprint,
    equipment_photos.blueprint,
    equipment_history.blueprint,
    equipment_files.blueprint,
    keys.blueprint,
    audit.blueprint,
    ops.blueprint,
)
