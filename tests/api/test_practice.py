"""How often the desk tests where neither it nor its region says so."""

from __future__ import annotations

from evenboard.api.practice import STRICTEST_MONTHS
from evenboard.catalogue import Catalogue


def test_the_interval_where_none_is_said_is_the_shortest_that_a_region_asks_for(
    catalogue: Catalogue,
) -> None:
    said = [region.test_interval_months for region in catalogue.regions.values()]

    assert min(months for months in said if months is not None) == STRICTEST_MONTHS
