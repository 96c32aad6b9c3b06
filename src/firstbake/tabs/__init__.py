"""Tabs: what measured discs tell about a powder."""

from firstbake.tabs.contact import ContactCheck
from firstbake.tabs.forward import reading, under_tab
from firstbake.tabs.identify import BEST_TP, Identified, identify, translucency
from firstbake.tabs.tab import (
    ADVISED_MM,
    CALIBRATION_SD,
    CONTACTS,
    READING_SD,
    THICKNESS_SD_MM,
    THIN_ROLES,
    THIN_THICKNESS_SD_MM,
    Tab,
    TabSet,
)
from firstbake.tabs.three_band import LabTab, identify_from_lab

__all__ = [
    "ADVISED_MM",
    "BEST_TP",
    "CALIBRATION_SD",
    "CONTACTS",
    "READING_SD",
    "THICKNESS_SD_MM",
    "THIN_ROLES",
    "THIN_THICKNESS_SD_MM",
    "ContactCheck",
    "Identified",
    "LabTab",
    "Tab",
    "TabSet",
    "identify",
    "identify_from_lab",
    "reading",
    "translucency",
    "under_tab",
]
