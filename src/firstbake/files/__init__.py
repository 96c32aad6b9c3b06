"""Files: everything that reads or writes a disk, and nothing that decides."""

from firstbake.files.bake_file import BakeFile, write_bake
from firstbake.files.card_file import CardTable, ZonesTable, read_card, read_zones
from firstbake.files.card_pdf import card_pdf, write_card
from firstbake.files.cards import find_card, read_core, read_powder
from firstbake.files.case_file import LoadedCase, read_case, shelf_powders
from firstbake.files.case_schema import CaseFile
from firstbake.files.colour_file import colours_of_bytes, read_colours
from firstbake.files.coupons import density_table, fit_card, read_coupons, write_fitted_card
from firstbake.files.demo_case import write_demo
from firstbake.files.meshes import ReadMesh, read_surface, write_3mf, write_ply, write_stl
from firstbake.files.mix_card import AddedMix, add_mix, mixes_on_shelf, read_mix
from firstbake.files.output import check_output, staged_folder
from firstbake.files.pdf import sheet_pdf
from firstbake.files.photo_file import PhotoFile, read_colour_photo, write_colour_photo
from firstbake.files.pictures import Picture, plan_pictures
from firstbake.files.plan_file import case_out, plan_file, room_file
from firstbake.files.plan_schema import PlanFile, RoomFile
from firstbake.files.points import read_points
from firstbake.files.powder_card import AddedPowder, CardOrder, add_powder, share
from firstbake.files.recipe_file import RecipeFile, recipe_file, write_recipe
from firstbake.files.result import Written, write_plan
from firstbake.files.stand_in import MadeCore, write_stand_in
from firstbake.files.tab_file import TabFile, read_tabs
from firstbake.files.tab_sheet import tab_sheet_pdf, write_tab_sheet

__all__ = [
    "AddedMix",
    "AddedPowder",
    "BakeFile",
    "CardOrder",
    "CardTable",
    "CaseFile",
    "LoadedCase",
    "MadeCore",
    "PhotoFile",
    "Picture",
    "PlanFile",
    "ReadMesh",
    "RecipeFile",
    "RoomFile",
    "TabFile",
    "Written",
    "ZonesTable",
    "add_mix",
    "add_powder",
    "card_pdf",
    "case_out",
    "check_output",
    "colours_of_bytes",
    "density_table",
    "find_card",
    "fit_card",
    "mixes_on_shelf",
    "plan_file",
    "plan_pictures",
    "read_card",
    "read_case",
    "read_colour_photo",
    "read_colours",
    "read_core",
    "read_coupons",
    "read_mix",
    "read_points",
    "read_powder",
    "read_surface",
    "read_tabs",
    "read_zones",
    "recipe_file",
    "room_file",
    "share",
    "sheet_pdf",
    "shelf_powders",
    "staged_folder",
    "tab_sheet_pdf",
    "write_3mf",
    "write_bake",
    "write_card",
    "write_colour_photo",
    "write_demo",
    "write_fitted_card",
    "write_plan",
    "write_ply",
    "write_recipe",
    "write_stand_in",
    "write_stl",
    "write_tab_sheet",
]
