"""Invented powders for the colour tests, with thick-layer colours and translucencies worked out elsewhere.

Columns: S550, p, K0, Kb, Kg in 1/mm; Lab endless; Lab on black and on white tile in contact; translucency
(CIELAB difference of both) in contact and with air between. D65, 2 degrees, d/8 specular excluded, index 1.5;
tiles 0.03 and 0.87 as measured; 1 mm, opaque 0.2 mm. The values come from a separate sum in another program.
"""

from firstbake.powder import Optics, parametric_optics

NUMBERS = {
    "opaque light": (40, 0.4, 0.2551, 5.4401, 0.1364),
    "opaque mid": (40, 0.4, 0.3262, 10.978, 0.3015),
    "dentine 1": (3.2, 0.9, 0.0393, 0.6524, 0.0068),
    "dentine 2": (3.0, 0.9, 0.0411, 1.0946, 0.0082),
    "dentine 3": (2.9, 0.9, 0.0425, 1.6679, 0.0157),
    "dentine 4": (2.7, 0.9, 0.0604, 2.2648, 0.0358),
    "dentine chroma": (2.7, 0.9, 0.0168, 4.8561, 0.0123),
    "enamel light": (1.15, 1.3, 0.0254, 0.0967, 0.0015),
    "enamel mid": (1.10, 1.3, 0.0354, 0.2022, 0.0036),
    "enamel dark": (1.05, 1.3, 0.0706, 0.2920, 0.0068),
    "transparent clear": (0.25, 1.5, 0.0133, 0.0571, 0.0018),
    "transparent opal": (0.50, 3.0, 0.0151, 0.0957, 0.0022),
}
THICK = {
    "opaque light": (83, 1.0, 14),
    "opaque mid": (79, 2.5, 18),
    "dentine 1": (80, 0.2, 14),
    "dentine 2": (77, 1.2, 18),
    "dentine 3": (74, 2.6, 21),
    "dentine 4": (70, 3.6, 22),
    "dentine chroma": (66, 7.5, 30),
    "enamel light": (80, -1.2, 5),
    "enamel mid": (76, -1.0, 8),
    "enamel dark": (70, -1.2, 7),
    "transparent clear": (72, -1.0, 6),
    "transparent opal": (76, -1.5, 3),
}
BLACK_WHITE = {
    "opaque light": ((82.0, -0.3, 12.4), (83.7, 1.5, 15.1), 3.6, 2.5),
    "opaque mid": ((78.5, 1.4, 17.2), (79.4, 3.2, 18.7), 2.5, 1.7),
    "dentine 1": ((74.7, -2.2, 7.1), (83.9, 0.4, 18.1), 14.7, 9.1),
    "dentine 2": ((72.5, -2.2, 11.4), (80.9, 2.1, 22.9), 14.9, 9.1),
    "dentine 3": ((70.3, -1.5, 15.3), (77.5, 4.4, 26.1), 14.3, 8.6),
    "dentine 4": ((67.2, -0.4, 17.5), (73.2, 6.3, 26.8), 12.9, 7.6),
    "dentine chroma": ((64.0, 2.6, 26.6), (68.5, 11.4, 34.1), 12.5, 7.3),
    "enamel light": ((61.9, -1.5, -5.3), (89.6, -1.0, 6.5), 30.1, 16.0),
    "enamel mid": ((60.5, -1.9, -3.5), (86.8, -1.2, 11.4), 30.3, 15.9),
    "enamel dark": ((58.3, -2.1, -2.3), (81.6, -1.0, 12.9), 27.8, 14.2),
    "transparent clear": ((39.4, -0.8, -5.9), (91.5, -0.7, 4.6), 53.1, 22.3),
    "transparent opal": ((48.8, -1.4, -14.4), (90.8, -1.0, 7.0), 47.0, 21.2),
}


def optics_of(name: str, *, status: str = "demo") -> Optics:
    s550, p, k0, kb, kg = NUMBERS[name]
    return parametric_optics(s550, p, k0, kb, kg_per_mm=kg, status=status, source="invented for this test")
