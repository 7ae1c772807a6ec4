"""The catalogue: what is known of fixtures, boards, cables and regions, read once and searchable.

``load_catalogue(folder)`` reads the data files and refuses them whole, with every fault, rather
than serve half a catalogue.
"""

from evenboard.catalogue.catalogue import AtVoltage, Catalogue
from evenboard.catalogue.errors import CatalogueFault, CatalogueInvalid
from evenboard.catalogue.families import Change, Family, SizeClasses
from evenboard.catalogue.loading import load_catalogue
from evenboard.catalogue.search import Hit, SearchIndex

__all__ = [
    "AtVoltage",
    "Catalogue",
    "CatalogueFault",
    "CatalogueInvalid",
    "Change",
    "Family",
    "Hit",
    "SearchIndex",
    "SizeClasses",
    "load_catalogue",
]
