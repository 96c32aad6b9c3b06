"""Sheet: what goes on the bench sheet, as values; nothing here knows of paper."""

from dataclasses import dataclass

from firstbake.sheet.drawing import Drawing

Lab = tuple[float, float, float]


@dataclass(frozen=True)
class Head:
    """Who and what: the top line of the sheet.

    code, tooth_number, tooth : case code, ISO 3950 number, tooth in words
    core    : the core in words, "tinted zirconia core"
    ordered : the ordered colours and the stump in words, "" when none were
    version : of firstbake
    source  : "meshes" or "calliper sizes"
    badge   : what is invented, "" when nothing is
    axes    : what to check on the drawings where the tooth's axes are in doubt, else ""
    """

    code: str
    tooth_number: str
    tooth: str
    core: str
    ordered: str
    version: str
    source: str
    badge: str
    axes: str


@dataclass(frozen=True)
class Step:
    """One box to tick.

    what    : the action, first words of the line
    details : where, how thick, how much: short sentences
    amount  : the number to build by ("0.40 g", "11.9 mm"), "" when there is none
    caution : for this step, "" when there is none
    asked   : questions with a box of their own ("Cobalt: allergy asked?")
    stage   : "prepare" up to the last coat on the core, "build" up to the furnace, "finish" after it
    """

    what: str
    details: tuple[str, ...]
    amount: str = ""
    caution: str = ""
    asked: tuple[str, ...] = ()
    stage: str = "build"


@dataclass(frozen=True)
class CalliperRow:
    """One length: build to green_mm ± doubt_mm, out of the furnace fired_mm, finished_mm after grinding.

    letter : keys it to the drawings       over : True for an overbuild, which is only built to
    """

    letter: str
    name: str
    green_mm: float
    fired_mm: float
    finished_mm: float
    doubt_mm: float
    over: bool


@dataclass(frozen=True)
class MixRow:
    """One powder: powder_g to weigh, lay_g laid on, of which placed_g end in the build; cost in currency."""

    powder: str
    role: str
    powder_g: float
    lay_g: float
    placed_g: float
    cost: float | None
    currency: str


@dataclass(frozen=True)
class FiringRow:
    """One bake as words for a table, and its curve.

    dry, climb, vacuum, hold, cool : cells in words
    peak_degC : top temperature         low_degC, high_degC : its usual range
    source : status and source of the programme, in words
    curve  : ((minutes, degC), ...) from cold to the end of the hold
    vacuum_degC : from and to, or None for a bake in air
    """

    bake: str
    purpose: str
    dry: str
    climb: str
    vacuum: str
    peak_degC: float
    low_degC: float
    high_degC: float
    hold: str
    cool: str
    source: str
    curve: tuple[tuple[float, float], ...]
    vacuum_degC: tuple[float, float] | None


@dataclass(frozen=True)
class ColourRow:
    """One zone: wanted and expected colour, CIELAB D65 2°, with the doubt of the prediction.

    target_words, expected_words : the colours named
    target_srgb, expected_srgb   : previews, 0 to 1 each, unlit
    delta_e00, doubt_delta_e00   : CIEDE2000 to the target (None without one) and its standard deviation,
                                   the doubt of the target's own reading included
    words : the difference in words       stack : the layers from the core outward, in words
    """

    zone: str
    target: Lab | None
    target_words: str
    target_srgb: tuple[float, float, float] | None
    expected: Lab
    expected_words: str
    expected_srgb: tuple[float, float, float]
    delta_e00: float | None
    doubt_delta_e00: float
    words: str
    stack: str


@dataclass(frozen=True)
class RecipeRow:
    """One zone of the recipe: layers in words, CIEDE2000 to the target as planned, expected and its doubt.

    verdict : "reached", "near" or "not reached"
    """

    zone: str
    layers: str
    delta_e00: float
    robust_delta_e00: float
    doubt_delta_e00: float
    verdict: str


@dataclass(frozen=True)
class Warned:
    """One warning and what can be done about it, most useful first.

    assumed : the choice that all numbers of the plan assume, "" where there is nothing to choose
    bench, dentist : other choices, at the bench and for the dentist
    send    : a sentence to send to the dentist, "" when there is none
    """

    sentence: str
    assumed: str = ""
    bench: tuple[str, ...] = ()
    dentist: tuple[str, ...] = ()
    send: str = ""

    @property
    def choices(self) -> tuple[str, ...]:
        """All choices, the assumed one first."""
        return tuple(filter(None, (self.assumed, *self.bench, *self.dentist)))


@dataclass(frozen=True)
class ContactRow:
    """One contact or the bite: how it stands, in words, and boxes to tick."""

    words: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Sheet:
    """The bench sheet of one crown.

    lead     : the sentence that matters        second : the next ones: colour, contacts, bite
    drawings : labial outline, mid section, incisal outline, in that order (5:1, and 1:1 small)
    contacts : contacts and bite
    colour_notes : where the prediction is weak
    bakes    : how many bakes with porcelain
    firing_care, cooling : lines over and under the firing table
    cautions : those that stand at no step
    lots     : materials whose lot is to be written in
    notes    : how the figures were found (model, frame, allowances), short sentences
    prevail  : who comes first
    recipe, recipe_line : the recipe by zone and which it is; empty where the usual layers are laid
    """

    head: Head
    lead: str
    second: str
    lead_ok: bool
    steps: tuple[Step, ...]
    callipers: tuple[CalliperRow, ...]
    contacts: tuple[ContactRow, ...]
    mix: tuple[MixRow, ...]
    firing: tuple[FiringRow, ...]
    bakes: str
    firing_care: str
    cooling: str
    colour: tuple[ColourRow, ...]
    colour_notes: tuple[str, ...]
    warnings: tuple[Warned, ...]
    cautions: tuple[str, ...]
    lots: tuple[str, ...]
    notes: tuple[str, ...]
    prevail: str
    drawings: tuple[Drawing, ...]
    recipe: tuple[RecipeRow, ...] = ()
    recipe_line: str = ""
