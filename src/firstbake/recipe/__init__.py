"""Recipe: which powders, and how thick in each zone, to land on the wanted colours."""

from firstbake.recipe.asked import SLOTS, Asked, Ingredient, PowderSet
from firstbake.recipe.search import Ranked, ZoneFit, search

__all__ = ["SLOTS", "Asked", "Ingredient", "PowderSet", "Ranked", "ZoneFit", "search"]
