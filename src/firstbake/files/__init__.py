"""Files: everything that reads or writes a disk, and nothing that decides."""

from firstbake.files.bake_file import BakeFile, write_bake
from firstbake.files.card_file import read_card, read_zones
from firstbake.files.card_pdf import card_pdf, write_card
from firstbake.files.cards import find_card, read_core, read_powder
from firstbake.files.case_file import LoadedCase, read_case
from firstbake.files.case_schema import CaseFile
from firstbake.files.colour_file import colours_of_bytes, read_colours
from firstbake.files.coupons import density_table, fit_card, read_coupons, write_fitted_card
from firstbake.files.demo_case import write_demo
from firstbake.files.meshes import ReadMesh, read_surface, write_3mf, write_ply, write_stl
from firstbake.files.output import check_output, staged_folder
from firstbake.files.pdf import sheet_pdf
from firstbake.files.photo_file import PhotoFile, read_colour_photo, write_colour_photo
from firstbake.files.pictures import Picture, plan_pictures
from firstbake.files.plan_file import plan_file, room_file
from firstbake.files.plan_schema import PlanFile, RoomFile
from firstbake.files.points import read_points
from firstbake.files.result import Written, write_plan
from firstbake.files.stand_in import MadeCore, write_stand_in

__all__ = [
    "BakeFile",
    "CaseFile",
    "LoadedCase",
    "MadeCore",
    "PhotoFile",
    "Picture",
    "PlanFile",
    "ReadMesh",
    "RoomFile",
    "Written",
    "card_pdf",
    "check_output",
    "colours_of_bytes",
    "density_table",
    "find_card",
    "fit_card",
    "plan_file",
    "plan_pictures",
    "read_card",
    "read_case",
    "read_colour_photo",
    "read_colours",
    "read_core",
    "read_coupons",
    "read_points",
    "read_powder",
    "read_surface",
    "read_zones",
    "room_file",
    "sheet_pdf",
    "staged_folder",
    "write_3mf",
    "write_bake",
    "write_card",
    "write_colour_photo",
    "write_demo",
    "write_fitted_card",
    "write_plan",
    "write_ply",
    "write_stand_in",
    "write_stl",
]
