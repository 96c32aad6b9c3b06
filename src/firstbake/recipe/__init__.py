"""Recipe: which powders, and how thick in each zone, to land on the wanted colours."""

from firstbake.recipe.answer import Alternative, CrownRecipe, Limit, Portion, ZoneRecipe
from firstbake.recipe.asked import SLOTS, Asked, Ingredient, PowderSet
from firstbake.recipe.find import find_recipe, question_of
from firstbake.recipe.prescribe import layer_by
from firstbake.recipe.rank import choose_set, in_order, reaches, verdict_of
from firstbake.recipe.search import Ranked, ZoneFit, search
from firstbake.recipe.why import limits_of

__all__ = [
    "SLOTS",
    "Alternative",
    "Asked",
    "CrownRecipe",
    "Ingredient",
    "Limit",
    "Portion",
    "PowderSet",
    "Ranked",
    "ZoneFit",
    "ZoneRecipe",
    "choose_set",
    "find_recipe",
    "in_order",
    "layer_by",
    "limits_of",
    "question_of",
    "reaches",
    "search",
    "verdict_of",
]
