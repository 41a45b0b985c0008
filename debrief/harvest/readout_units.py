"""The unit of a value: spoken with it, or implied by the plan, by the same parameter's last unit, by its head, in that order."""
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from ..records.rows import Field, Origin
from ..session import Session
from ..units import canonical, choose, dimension_of, joined_unit, read_unit
from .degrees import sense
from .parameter_words import HEADS, METRIC, QUANTITY_WORDS, SPEC_UNIT
from .plan_book import Planned
from .readout_phrases import head_word
from .view import View, stem


@dataclass(frozen=True, slots=True)
class SpokenUnit:
    """The unit word behind (or glued to) a number; names: fair readings, likeliest first; end: token behind it."""

    names: tuple[str, ...]
    end: int


def spoken_unit(view: View, start: int, end: int) -> SpokenUnit | None:
    """The unit that stands with the number over tokens [start, end)."""
    glued = joined_unit(view.turn.tokens[end - 1].text) if end == start + 1 else None
    if glued and glued != "K":  # '400K' is thousands, and the number has them
        return SpokenUnit((glued,), end)
    if end and view.turn.tokens[end - 1].text[-1:] in ",;:?!" and end < len(view.words) and not view.words[end].startswith("percent"):
        return None
    begins = end and end < len(view.words) and view.turn.tokens[end - 1].text.endswith(".") and view.turn.tokens[end].text[:1].isupper()
    if begins and (len(view.words[end]) == 1 or not view.turn.tokens[end].text.strip(".,").isupper()):
        return None  # 'That's a four. Foot release ...', 'channel one. T minus ...'
    if view.words[end:end + 1] == ("g",) and view.turn.tokens[end].ends_clause:
        return SpokenUnit(("g",), end + 1)
    reading = read_unit(view.words, end)
    if reading is None and view.words[end:end + 1] in (("a",), ("an",)) and view.words[end - 1] in ("half", "quarter"):
        reading = read_unit(view.words, end + 1)  # 'half a degree'
    if reading is None and view.words[end:end + 1] in (("more",), ("point",)):
        reading = read_unit(view.words, end + 1)
    return SpokenUnit(reading.names, reading.end) if reading and not _names_next(view, reading.end) else None


_SPANS = {"second": "s", "minute": "min", "hour": "h"}


def time_behind(view: View, end: int) -> str | None:
    """'Coming down 300 a minute': the time behind a value without a unit, as in a unit (s, min, h); None for none."""
    timed = view.words[end:end + 1] in (("a",), ("an",), ("per",)) and not view.turn.tokens[end - 1].ends_clause
    return _SPANS.get(view.words[end + 1]) if timed and end + 1 < len(view.words) else None


_TIMED = frozenset("bpm /min rpm spm cps kt mph Hz".split())


def of_rate(unit: Field, time: str, named: bool) -> Field:
    """The unit of a value with a time behind it: one that holds a time stays, of a named parameter that has none it is completed, else it is left open."""
    if not unit.value or "/" in str(unit.value) or unit.value in _TIMED:
        return unit
    made = canonical(f"{unit.value}/{time}")
    return replace(unit, value=made) if named else Field(None, "assumed", "clear", None, (f"a rate, and nobody says of what; perhaps {made}",), (str(made),))


def _names_next(view: View, end: int) -> bool:
    """'Suit four point three amps are two point six', written without commas: the unit names the next value."""
    return view.words[end:end + 1] in (("are",), ("is",), ("reads",), ("read",), ("reading",)) and end + 1 in view.numbers \
        and not view.turn.tokens[end - 1].ends_clause


_MERCURY = frozenset("mercury torr co2 blood vacuum barometer partial systolic diastolic manometer mmhg".split())
_SUBMERGED = frozenset("depth pneumo diver divers bell seawater decompression chamber dive".split())
_INCHES_OF = frozenset("mercury manifold altimeter barometer vacuum water manometer draft draught".split())
_THIN = frozenset("vibration vibrations vibes runout eccentricity clearance gap shim shims expansion tolerance film coating paint wear bearing play lash "
                  "backlash float".split())
_FINE = frozenset("vibration vibrations vibes runout eccentricity shim shims film coating".split())
_FLUIDS = frozenset("saline fluid fluids blood urine drug drugs dose syringe infusion pump drip water oil sample reagent adrenaline morphine glucose".split())
_WEIGHED = frozenset("heavy light lighter heavier ballast weigh weighs weight weighed fuel payload cargo aboard bags bag mass propellant burned sandbags "
                     "kerosene dropped load shot crew baggage water waste coal".split())
_FORCED = frozenset("pull push tension strain thrust stick pedal drag lift cable tow hook force strap rope line load cell hawser winch rudder "
                    "aileron elevator wheel yoke grip squeeze handle lever strain".split())


def narrowed(unit: SpokenUnit | None, view: View, number_start: int, spoken: frozenset[str], before: frozenset[str] = frozenset()) -> SpokenUnit | None:
    """The fair readings of an open unit word that the talk allows: millimetres and inches are lengths where nothing speaks of mercury or water;

    mils are thousandths of an inch of what is thin, and millilitres of fluids;
    pounds are of mass or force where the clause weighs or pulls, and says nothing of a pressure.
    """
    if unit is None or len(unit.names) == 1:
        return unit
    if unit.names[0] == "deg":
        return SpokenUnit(("deg",), unit.end) if turned(view, number_start, unit.end) else unit
    if unit.names[-1] in ("msw", "fsw") and (not _SUBMERGED & spoken or "altitude" in spoken):
        return SpokenUnit(unit.names[:1], unit.end)
    if "mmHg" in unit.names and not _MERCURY & spoken:
        return SpokenUnit(("mm",), unit.end)
    if "inHg" in unit.names and not _INCHES_OF & (spoken | {word.removesuffix("'s") for word in view.words}):
        return SpokenUnit(("in", "inHg"), unit.end) if "pressure" in spoken else SpokenUnit(("in",), unit.end)
    if "mL" in unit.names and "thou" in unit.names:
        said = {word.removesuffix("'s") for word in view.words}
        thin = _FINE if unit.names[0] == "mm" else _THIN  # 'forty mil' are millimetres, but of vibration
        return SpokenUnit(("thou",), unit.end) if thin & said else SpokenUnit(("mL",), unit.end) if _FLUIDS & said else SpokenUnit(unit.names[:1], unit.end)
    if unit.names[0] != "psi" or "lb" not in unit.names:
        return unit
    low, high = view.sentence(number_start)
    near = {word.removesuffix("'s") for word in view.words[max(low, number_start - 8):min(high, unit.end + 4)]}
    if {"pressure", "press", "tank", "bottle", "gauge", "gage"} & near:
        return unit
    near |= before
    first = "lb" if _WEIGHED & near else "lbf" if _FORCED & near else None
    return SpokenUnit((first, *(name for name in unit.names if name != first)), unit.end) if first else unit


_TURNS = frozenset("swing swings swung swinging heel heels heeled heeling list listed listing tilt tilts tilted lean leans leaned leaning roll rolled rolling "
                   "pitch pitched yaw yawed bank banked banking turned rotated slewed slew twist twisted".split())
_SIDES = frozenset("left right port starboard nose bank heel list tilt roll pitch yaw rudder flap flaps trim".split())
_BESIDE = frozenset("to of on off the".split())


def turned(view: View, number_start: int, unit_end: int) -> bool:
    """'Cabin swung six degrees', 'swing ten degrees', 'two degrees left', 'two degrees to port': these degrees are of no heat."""
    low = max(view.clause(number_start)[0], max((n.end for n in view.numbers.values() if n.end <= number_start), default=0))
    ends = view.turn.tokens[unit_end - 1].ends_clause
    behind = [] if ends else [word for word in view.words[unit_end:unit_end + 3] if word not in _BESIDE][:1]
    return bool(_TURNS & set(view.words[low:number_start])) or bool(_SIDES & set(behind))


_FUELS = frozenset("fuel kerosene payload cargo".split())
"""What is told in pounds of mass where nothing else is said."""
_MOST_PERCENT = 110
_LEAST_INCHES, _MOST_INCHES = 26, 32
_MOST_HPA = 1100
_LEAST_SPEED = 20
_TURNING = frozenset("engine engines shaft motor rotor turbine pump fan spindle propeller prop compressor drum cutterhead rotary".split())
_HOLDERS = frozenset("bank tank".split())
"""What holds litres as well as pressure, or volts."""
_METRIC_WORDS = frozenset("metre metres meters centimetre centimetres centimeters millimetre millimetres millimeters litre litres liters kilo kilos "
                          "kilogram kilograms tonne tonnes bar millibar kilopascals celsius centigrade kelvin newtons kilonewtons".split())
_OTHER_WORDS = frozenset("feet foot inch inches psi psia psig pounds fahrenheit gallons fathoms miles".split())
"""Talk that has the first and none of the second tells temperatures in Celsius and pressures in bar."""
_EVERYWHERE = frozenset("feet foot mile miles inch inches fathoms".split())
"""Heights are told in feet, ways in miles, pipes and vacuum in inches all over the world: beside bar and litres they say nothing of temperatures."""
_STRONG = frozenset("litre litres kilo kilos kilogram kilograms tonne tonnes bar millibar kilopascals celsius centigrade newtons kilonewtons".split())
_DRAUGHTS = frozenset("draught draughts draft ashpan".split())
_FLUES = _DRAUGHTS | {"smokebox", "flue", "duct", "stack"}
"""Drawn by a fan or a chimney: inches are of water."""
_FLOWS = frozenset("flow leak leakage seepage burn consumption".split())
NO_TIME = "an amount, where a flow is told"
_VACUUM = Decimal("0.001")
"""Pressures as small as this are told in units of vacuum work, and which of them nobody says."""


@dataclass
class UnitMemory:
    """Units spoken so far, by parameter stems and by dimension; the session's own table of units comes first. spoken: all words of the talk."""

    session: Session
    spoken: frozenset[str] = frozenset()
    by_parameter: dict[frozenset[str], str] = field(default_factory=dict)
    by_dimension: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.metric = self._is_metric()

    def _is_metric(self) -> bool:
        given = [canonical(unit) for card in self.session.cards for unit in (readout.unit for readout in card.readouts)]
        given += [canonical(unit) for unit in self.session.units.values()] + [canonical(limit.unit) for limit in self.session.limits]
        if not any(given):
            others = _OTHER_WORDS - _EVERYWHERE if _STRONG & self.spoken else _OTHER_WORDS
            return bool(_METRIC_WORDS & self.spoken) and not others & self.spoken
        return bool({"C", "bar", "m", "kg", "kPa", "L", "L/min", "t", "kN"} & set(given))

    def heard(self, words: Sequence[str], unit: str) -> None:
        if words:
            self.by_parameter[frozenset(stem(word) for word in words)] = unit
        dimension = dimension_of(unit)
        if dimension:
            self.by_dimension[dimension] = unit

    def field(self, spoken: SpokenUnit | None, words: Sequence[str], planned: Planned | None, value: Decimal) -> Field:
        """The unit as a field with its origin; value None where nothing tells."""
        head = head_word(words)
        dimension = dimension_of(planned.unit) if planned and planned.unit else HEADS[head].dimension if head else None
        if spoken is not None:
            return self._of_spoken(spoken, dimension, planned, words, value)
        implied = self._implied(words, head, planned, value)
        if implied is None or not implied[0]:
            return Field(None, "assumed")
        unit, origin, why = implied
        return Field(unit, origin, "clear", None, (why,))

    def _of_spoken(self, spoken: SpokenUnit, dimension: str | None, planned: Planned | None, words: Sequence[str], value: Decimal) -> Field:
        if dimension == "speed" and spoken.names[0] == "m":
            return Field("m/s", "spoken", "clear", None, ("said without its time",), spoken.names)
        if len(spoken.names) == 1:
            return self._rate_of(spoken.names[0], planned, words) or Field(spoken.names[0])
        if spoken.names[0] == "in" and _FLUES & {word.lower() for word in words}:
            water = bool(_DRAUGHTS & {word.lower() for word in words})
            return Field("inH2O" if water else "in", "spoken", "clear", None, (), spoken.names)
        if spoken.names[0] == "in" and dimension == "pressure":
            inches = "inHg" if _INCHES_OF - {"water"} & {word.lower() for word in words} else self.by_parameter.get(frozenset(stem(word) for word in words))
            return Field(inches, "spoken", others=spoken.names) if inches else Field(
                "inHg", "spoken", "doubtful", None, ("inches of mercury or of water: nobody says which",), spoken.names)
        if self.metric and set(spoken.names) == {"t", "ton"}:
            return Field("t", "spoken", "clear", None, (), spoken.names)
        if planned and planned.unit in spoken.names:
            return Field(planned.unit, "spoken", others=tuple(name for name in spoken.names if name != planned.unit))
        name = choose(spoken.names, dimension) if dimension else None
        if "lb" in spoken.names and _FUELS & {word.lower() for word in words} and dimension in (None, "ratio"):
            name = "lb"
        if spoken.names[0] == "deg" and sense(words, value) == "temperature":
            return Field(self._temperature(), "spoken", "clear", None, (), spoken.names)
        if spoken.names[0] == "deg" and (dimension == "temperature" or name in ("F", "C")):
            name = self._temperature()
        open_word = name is None and spoken.names[0] == "psi" and dimension not in ("pressure", "ratio")
        why = (f"'{' or '.join(spoken.names)}': the parameter does not tell which",) if open_word else ()
        return Field(name or spoken.names[0], "spoken", "doubtful" if open_word else "clear", None, why, spoken.names)

    def _rate_of(self, spoken: str, planned: Planned | None, words: Sequence[str]) -> Field | None:
        """'Flow dropped to eleven litres', where the plan or earlier talk tells it in litres a minute: the time is left out."""
        usual = planned.unit if planned else self.by_parameter.get(frozenset(stem(word) for word in words))
        if usual and usual.split("/")[0] == spoken and "/" in usual:
            return Field(usual, "spoken", "clear", None, ("said without its time",), (spoken,))
        if dimension_of(spoken) in ("volume", "mass") and _FLOWS & {word.lower() for word in words}:
            return Field(spoken, "spoken", "doubtful", None, (NO_TIME,), (spoken,))
        return None

    def _temperature(self) -> str:
        default = METRIC["temperature"] if self.metric else SPEC_UNIT["temperature"]
        return canonical(self.session.units.get("temperature")) or self.by_dimension.get("temperature") or default

    def _implied(self, words: Sequence[str], head: str | None, planned: Planned | None, value: Decimal) -> tuple[str, Origin, str] | None:
        if planned and planned.unit:
            return planned.unit, "plan", f"the session file gives {planned.what} in {planned.unit}"
        before = self.by_parameter.get(frozenset(stem(word) for word in words))
        if before:
            return before, "carried", "spoken with this parameter before"
        if head is None:
            return None
        return self._by_head(head, words, value)

    def _by_more(self, head: str, said: set[str], value: Decimal) -> tuple[str, Origin, str] | None:
        """Heads that measure different things by the words or the value beside them."""
        if head in ("speed", "velocity") and said & _TURNING or head == "pressure" and _LEAST_INCHES <= value <= _MOST_INCHES and value.as_tuple().exponent == -2:
            return "", "assumed", ""  # an engine's speed is told in turns, the air's pressure as an altimeter is set
        if "rate" in said and HEADS[head].unit is not None and HEADS[head].dimension != "rate":
            return "", "assumed", ""  # 'roll rate': degrees by the second, or by the minute
        if "blood" in said:
            return "mmHg", "assumed", "blood pressure is told in mmHg"
        if head == "bank" and any(len(word) == 1 for word in said):
            return "", "assumed", ""  # 'bank D's two oh one': a bank of rods or cells, and no angle
        if head == "bank" and said & {"left", "right"}:
            return "deg", "assumed", "the usual unit of bank"
        if head in ("depth", "pneumo") and (told := self.by_dimension.get("length")) in ("ft", "m"):
            return told, "carried", "lengths are told in it"
        if head in ("altimeter", "barometer", "qnh", "qfe") and _LEAST_INCHES <= value <= _MOST_INCHES:
            return "inHg", "assumed", "the usual unit of an altimeter setting of this size"
        if head == "altimeter" and value > _MOST_HPA:
            return self.by_dimension.get("length", "ft"), "assumed", "the usual unit of altitude"
        return None

    def _by_head(self, head: str, words: Sequence[str], value: Decimal) -> tuple[str, Origin, str] | None:
        if (own := self._by_more(head, {word.lower() for word in words}, value)) is not None:
            return own
        load = head in ("stall", "buffet") and abs(value) < _LEAST_SPEED  # so small it is no speed
        dimension, unit = HEADS[head].dimension, None if load else HEADS[head].unit
        for word in (head, *words):
            named = canonical(self.session.units.get(word))
            if named:
                return named, "plan", f"the session file gives {word} in {named}"
        named = canonical(self.session.units.get(dimension or "")) if dimension and head not in _HOLDERS else None
        if named:
            return named, "plan", f"the session file gives {dimension} in {named}"
        if dimension == "pressure" and 0 < abs(value) < _VACUUM:
            return None
        if dimension in ("temperature", "pressure") and unit is None:
            if dimension == "temperature":
                return self._temperature(), "assumed", "the usual unit of such talk"
            usual = self.by_dimension.get("pressure") or (METRIC if self.metric else SPEC_UNIT)["pressure"]
            return usual, "assumed", "the usual unit of such talk"
        amounts = {"volume", "mass"} & set(self.by_dimension)  # where amounts are told in litres or pounds, a bare one may be either
        if unit is None and QUANTITY_WORDS & set(words) and 0 <= value <= _MOST_PERCENT and not self.metric and not amounts:
            return "percent", "assumed", "amounts are told as a percentage"
        if unit == "percent" and (value > _MOST_PERCENT or amounts or (head in ("oxygen", "o2") and 0 < value < 1)):
            return None  # oxygen below one is a partial pressure or a share, and which nobody says
        return (unit, "assumed", f"the usual unit of {head}") if unit else None
