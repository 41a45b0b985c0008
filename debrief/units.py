"""Units as they are spoken: canonical names, spoken and written forms, dimensions, exact conversion.

Conventions: a unit's canonical name is its short written form ('psi', 'ft/s', 'percent'); a value in SI is
value * factor + offset. Factors are NIST SP 811 (2008) Appendix B where listed there, else exact by definition.
'pounds' and 'degrees' are open until the parameter is known: read_unit gives all fair readings, the likeliest first.
A rate is composed of two units ('metres a minute' -> 'm/min') and needs no entry of its own.
"""
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from functools import lru_cache


@dataclass(frozen=True, slots=True)
class Unit:
    """name: canonical; dimension: what it measures; factor, offset: to SI; spoken: words as said or written, lower case."""

    name: str
    dimension: str
    factor: Decimal
    offset: Decimal
    spoken: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnitReading:
    """A unit over words [start, end). name: the likeliest reading; others: further fair ones ('pounds': psi, lb, lbf)."""

    start: int
    end: int
    name: str
    others: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        return (self.name, *self.others)


# name | dimension | factor to SI | offset | spoken forms (commas)
_TABLE = """
psi | pressure | 6894.757 | 0 | psi, p s i, pounds per square inch, pound per square inch, pounds, pound
psia | pressure | 6894.757 | 0 | psia, p s i a, psi absolute, pounds per square inch absolute
psig | pressure | 6894.757 | 0 | psig, p s i g, psi gauge, psi gage, pounds per square inch gauge
psid | pressure | 6894.757 | 0 | psid, p s i d, psi differential, pounds per square inch differential
bar | pressure | 100000 | 0 | bar, bars
bara | pressure | 100000 | 0 | bara, bar absolute
barg | pressure | 100000 | 0 | barg, bar gauge, bar gage
mbar | pressure | 100 | 0 | mbar, millibar, millibars, milli bar, milli bars
hPa | pressure | 100 | 0 | hpa, hectopascal, hectopascals
kPa | pressure | 1000 | 0 | kpa, kilopascal, kilopascals, kilo pascals
Pa | pressure | 1 | 0 | pascal, pascals
MPa | pressure | 1000000 | 0 | mpa, megapascal, megapascals
mmHg | pressure | 133.3224 | 0 | mmhg, millimeters of mercury, millimetres of mercury, millimeters mercury, torr, mm of mercury
inHg | pressure | 3386.389 | 0 | inhg, inches of mercury, inches mercury
inH2O | pressure | 249.0889 | 0 | inches of water, inches water, inches water gauge, inches of water gauge, inwg
cmH2O | pressure | 98.0665 | 0 | centimetres of water, centimeters of water
mmH2O | pressure | 9.80665 | 0 | millimetres of water, millimeters of water, millimetres water gauge, millimeters water gauge, mmwg
psf | pressure | 47.88026 | 0 | psf, pounds per square foot, pounds a square foot
atm | pressure | 101325 | 0 | atm, atmosphere, atmospheres
deg | angle | 0.0174532925199433 | 0 | deg, degree, degrees, °
rad | angle | 1 | 0 | rad, radian, radians
arcsec | angle | 0.00000484813681109536 | 0 | arcsec, arc second, arc seconds, arcsecond, arcseconds
mrad | angle | 0.001 | 0 | mrad, milliradian, milliradians
F | temperature | 5/9 | 2298.35/9 | °f, degf, fahrenheit, degrees fahrenheit, degrees f, degree fahrenheit, deg f
C | temperature | 1 | 273.15 | °c, degc, celsius, centigrade, degrees celsius, degrees centigrade, degrees c, deg c
K | temperature | 1 | 0 | kelvin, kelvins
percent | ratio | 0.01 | 0 | percent, %, pct, per cent
ppt | ratio | 0.001 | 0 | parts per thousand, per mille
ppb | ratio | 0.000000001 | 0 | ppb, parts per billion
ppm | ratio | 0.000001 | 0 | ppm, parts per million, parts a million, p p m
V | potential | 1 | 0 | volt, volts, vdc, vac, v
kA | current | 1000 | 0 | kiloamp, kiloamps
mV | potential | 0.001 | 0 | millivolt, millivolts, mv
uV | potential | 0.000001 | 0 | microvolt, microvolts, µv
kV | potential | 1000 | 0 | kilovolt, kilovolts, kilo volts, kv
A | current | 1 | 0 | amp, amps, ampere, amperes, a
mA | current | 0.001 | 0 | milliamp, milliamps, milliampere, milliamperes, ma
uA | current | 0.000001 | 0 | microamp, microamps, microampere, microamperes
nC | charge | 0.000000001 | 0 | nanocoulomb, nanocoulombs
Ah | charge | 3600 | 0 | ah, amp-hour, amp-hours, ampere-hour, ampere-hours, amp hour, amp hours, ampere hours
W | power | 1 | 0 | watt, watts
kW | power | 1000 | 0 | kilowatt, kilowatts, kilo watts, kw
MW | power | 1000000 | 0 | megawatt, megawatts, mega watts
kVA | power | 1000 | 0 | kva, kilovolt amps
MVA | power | 1000000 | 0 | mva, megavolt amps
kvar | power | 1000 | 0 | kvar, kilovar, kilovars
Mvar | power | 1000000 | 0 | mvar, megavar, megavars
hp | power | 745.6999 | 0 | horsepower
BTU/h | power | 0.2930711 | 0 | btu, btus, btu per hour, btus per hour
Hz | frequency | 1 | 0 | hz, hertz, cycles per second
kHz | frequency | 1000 | 0 | khz, kilohertz, kilocycles, kc
MHz | frequency | 1000000 | 0 | mhz, megahertz, megacycles
dB | level | 1 | 0 | db, decibel, decibels
dBm | level | 1 | 0 | dbm
ft | length | 0.3048 | 0 | ft, foot, feet
in | length | 0.0254 | 0 | inch, inches
yd | length | 0.9144 | 0 | yd, yard, yards
mi | length | 1609.344 | 0 | mi, mile, miles, statute mile, statute miles
nmi | length | 1852 | 0 | nmi, nautical mile, nautical miles, nauticals
m | length | 1 | 0 | m, metre, metres, meter, meters
km | length | 1000 | 0 | km, kilometre, kilometres, kilometer, kilometers, klick, klicks, k's
cm | length | 0.01 | 0 | cm, centimetre, centimetres, centimeter, centimeters
mm | length | 0.001 | 0 | mm, millimetre, millimetres, millimeter, millimeters
thou | length | 0.0000254 | 0 | thou, thousandths of an inch, mil, mils
um | length | 0.000001 | 0 | micron, microns, micrometre, micrometres, micrometer, micrometers, µm
fathom | length | 1.8288 | 0 | fathom, fathoms
msw | pressure | 10000 | 0 | msw, metres of sea water, meters of sea water, metres sea water, meters sea water
fsw | pressure | 3064.33 | 0 | fsw, feet of sea water, feet sea water
kt | speed | 1852/3600 | 0 | kt, kts, kn, knot, knots, knots indicated
mph | speed | 0.44704 | 0 | mph
km/h | speed | 1/3.6 | 0 | kph, kmh, km/h
ft/s | speed | 0.3048 | 0 | fps, ft/s, ft/sec
ft/min | speed | 0.00508 | 0 | fpm, ft/min
Mach | Mach number | 1 | 0 | mach
g | acceleration | 9.80665 | 0 | g, g's, gs, gees
m/s2 | acceleration | 1 | 0 | m/s2, m/s²
ft/s2 | acceleration | 0.3048 | 0 | ft/s2, ft/s²
kg | mass | 1 | 0 | kg, kilo, kilos, kilogram, kilograms, kgs
gram | mass | 0.001 | 0 | gram, grams
mg | mass | 0.000001 | 0 | mg, milligram, milligrams
ug | mass | 0.000000001 | 0 | microgram, micrograms, mcg
cwt | mass | 50.80235 | 0 | cwt, hundredweight
t | mass | 1000 | 0 | tonne, tonnes, metric ton, metric tons
lb | mass | 0.45359237 | 0 | lb, lbs
oz | mass | 0.02834952 | 0 | oz, ounce, ounces
ton | mass | 907.1847 | 0 | ton, tons
N | force | 1 | 0 | newton, newtons
kN | force | 1000 | 0 | kilonewton, kilonewtons, kilo newton, kilo newtons
lbf | force | 4.448222 | 0 | lbf, pounds force, pounds of force, pounds of thrust
MN | force | 1000000 | 0 | meganewton, meganewtons
MNm | torque | 1000000 | 0 | meganewton metre, meganewton metres, meganewton meter, meganewton meters
kNm | torque | 1000 | 0 | knm, kn.m, kilonewton metre, kilonewton metres, kilonewton meter, kilonewton meters
Nm | torque | 1 | 0 | n.m, newton metre, newton metres, newton meter, newton meters
in-lb | torque | 0.1129848 | 0 | inch pound, inch pounds, inch-pound, inch-pounds, in lb
ft-lb | torque | 1.355818 | 0 | ft lb, foot pound, foot pounds, foot-pounds
L | volume | 0.001 | 0 | l, litre, litres, liter, liters
mL | volume | 0.000001 | 0 | ml, millilitre, millilitres, milliliter, milliliters, cc, ccs, cc's
gal | volume | 0.003785412 | 0 | gal, gallon, gallons
qt | volume | 0.0009463529 | 0 | quart, quarts
pt | volume | 0.0004731765 | 0 | pint, pints
cu ft | volume | 0.02831685 | 0 | cubic foot, cubic feet
bbl | volume | 0.1589873 | 0 | bbl, barrel, barrels
m3 | volume | 1 | 0 | cubic metre, cubic metres, cubic meter, cubic meters
cu ft/min | flow | 0.02831685/60 | 0 | cfm, ft3/min
L/min | flow | 0.001/60 | 0 | lpm, l/min
gal/min | flow | 0.0000630901964 | 0 | gpm, gallons per minute
bpm | rate | 1/60 | 0 | bpm, beats per minute, beats a minute, beats
/min | rate | 1/60 | 0 | breaths per minute, breaths a minute, 1/min
spm | stroke rate | 1/60 | 0 | strokes, strokes per minute, strokes a minute
cps | count rate | 1 | 0 | counts per second, counts a second
rpm | rotation | 0.104719755119660 | 0 | rpm, rpms, r p m, revs, revs per minute, revs a minute, revolutions, revolutions per minute, turns a minute
frames/s | frame rate | 1 | 0 | frames per second, frames a second, frames/s
kcal | energy | 4184 | 0 | kcal, kilocalorie, kilocalories
J | energy | 1 | 0 | joule, joules
MJ | energy | 1000000 | 0 | megajoule, megajoules
MeV | energy | 0.0000000000001602177 | 0 | mega electron volts, megaelectronvolts
MWh | energy | 3600000000 | 0 | megawatt hour, megawatt hours, mwh
kWh | energy | 3600000 | 0 | kilowatt hour, kilowatt hours, kwh
ohm | resistance | 1 | 0 | ohm, ohms
kohm | resistance | 1000 | 0 | kilohm, kilohms, kilo ohms
Mohm | resistance | 1000000 | 0 | megohm, megohms, megaohm, megaohms, meg ohms
lux | illuminance | 1 | 0 | lux
rad dose | dose | 0.01 | 0 | rads
uSv | dose equivalent | 0.000001 | 0 | microsievert, microsieverts
mSv | dose equivalent | 0.001 | 0 | millisievert, millisieverts
microstrain | strain | 0.000001 | 0 | micro strain, microstrains
nT | flux density | 0.000000001 | 0 | nanotesla, nanoteslas, nano tesla
mmol/L | amount | 1 | 0 | millimoles per litre, millimoles per liter, millimoles a litre, millimole per litre
ppg | density | 119.8264 | 0 | ppg, pounds per gallon, pounds a gallon
W/m2 | irradiance | 1 | 0 | watts per square metre, watts per square meter, watts a square metre, watts a square meter
ms | interval | 0.001 | 0 | millisecond, milliseconds, msec
us | interval | 0.000001 | 0 | microsecond, microseconds
s | time | 1 | 0 | s, sec, secs, second, seconds
min | time | 60 | 0 | min, mins, minute, minutes
h | time | 3600 | 0 | h, hr, hrs, hour, hours
d | time | 86400 | 0 | day, days
"""

# Against what a pressure is told: vacuum, the air around, or another pressure. Between them lies a pressure that nobody told, so they are never
# compared or turned into each other; a unit that says no kind goes with each.
_PRESSURE_KINDS = {"psia": "absolute", "psig": "gauge", "psid": "differential", "bara": "absolute", "barg": "gauge"}

# Words that stand for several units; the parameter decides (see choose).
_OPEN = {
    "pounds": ("psi", "lb", "lbf"), "pound": ("psi", "lb", "lbf"), "lbs": ("lb", "psi", "lbf"),
    "degrees": ("deg", "F", "C"), "degree": ("deg", "F", "C"), "°": ("deg", "F", "C"),
    "millimeters": ("mm", "mmHg"), "millimeter": ("mm", "mmHg"), "millimetres": ("mm", "mmHg"),
    "millimetre": ("mm", "mmHg"), "mm": ("mm", "mmHg"), "inches": ("in", "inHg", "inH2O"),
    "miles": ("mi", "nmi"), "mile": ("mi", "nmi"), "kilos": ("kg", "kPa"), "metres": ("m", "msw"), "meters": ("m", "msw"),
    "feet": ("ft", "fsw"), "kilometers": ("km", "km/h"), "kilometres": ("km", "km/h"), "mil": ("mm", "mL", "thou"), "mils": ("thou", "mL", "mm"),
    "tons": ("t", "ton"), "ton": ("t", "ton"), "points": ("percent",), "parts": ("ppm",),
}
# Short written forms that are also everyday words or letters: a unit only when written against figures ('24V', '5 V').
_SHORT = {"a", "v", "g", "m", "s", "l", "h", "k's", "in", "c", "f", "min", "ma", "kn", "d", "rad", "mi",
          "k", "w", "n", "t", "j", "pt", "qt", "us", "ms", "nt", "mn", "mj", "ka", "nc"}
_SECONDS = {"s": "second", "min": "minute", "h": "hour"}
_PER = {"per", "a", "an", "each", "the", "/"}


def _exact(cell: str) -> Decimal:
    """A cell of the table: '0.3048', or a quotient '5/9' to 40 digits."""
    above, _, below = cell.partition("/")
    with localcontext() as context:
        context.prec = 40
        return Decimal(above) / Decimal(below or 1)


def _load() -> dict[str, Unit]:
    rows = (tuple(cell.strip() for cell in line.split("|")) for line in _TABLE.strip().splitlines())
    return {name: Unit(name, dimension, _exact(factor), _exact(offset), tuple(s.strip() for s in spoken.split(",")))
            for name, dimension, factor, offset, spoken in rows}


UNITS: dict[str, Unit] = _load()
_BY_FORM: dict[tuple[str, ...], str] = {}
for _unit in UNITS.values():
    for _form in (_unit.name.lower(), *_unit.spoken):
        _BY_FORM.setdefault(tuple(_form.split()), _unit.name)
_FIRST_WORDS = {form[0] for form in _BY_FORM} | set(_OPEN)
_LONGEST = max(len(form) for form in _BY_FORM)
_RATE_NAMES = {"ft/s": "ft/s", "ft/min": "ft/min", "nmi/h": "kt", "mi/h": "mph"}
_RATE_DIMENSIONS = {("length", "time"): "speed", ("volume", "time"): "flow", ("angle", "time"): "angular rate"}


def canonical(text: str | None) -> str | None:
    """The canonical name of a unit as written by a person ('volts' -> 'V', 'deg F' -> 'F', 'm/s' stays); None for none.

    A unit that is not known comes back as written, trimmed: a user's own unit is kept, only never converted.
    """
    if not text or not text.strip():
        return None
    plain = text.strip()
    if plain in UNITS:
        return plain
    words = tuple(plain.lower().split())
    found = _BY_FORM.get(words)
    if found:
        return found
    rate = read_unit(words, 0) if "per" in words else None
    if rate is not None and rate.end == len(words):
        return rate.name
    top, _, below = plain.partition("/")
    if below and (a := canonical(top)) and (b := canonical(below)):
        return _RATE_NAMES.get(f"{a}/{b}", f"{a}/{b}")
    return plain


def dimension_of(name: str | None) -> str | None:
    """What a canonical unit measures ('psi' -> 'pressure', 'm/min' -> 'speed'); None when not known."""
    if name is None:
        return None
    if name in UNITS:
        return UNITS[name].dimension
    top, _, below = name.partition("/")
    pair = (dimension_of(top), dimension_of(below)) if below else (None, None)
    return None if None in pair else _RATE_DIMENSIONS.get(pair, f"{pair[0]}/{pair[1]}")  # type: ignore[arg-type]


def pressure_kind(name: str | None) -> str | None:
    """'absolute', 'gauge' or 'differential' where a canonical unit says so ('psia', 'barg'); None for every other unit."""
    return _PRESSURE_KINDS.get(name or "")


def compatible(a: str | None, b: str | None) -> bool:
    """True when values in the two units can be compared: same dimension, and pressures not told as different kinds (psia, psig).

    A unit not known is compatible with itself.
    """
    if a is None or b is None or a == b:
        return a is not None and a == b
    return dimension_of(a) is not None and dimension_of(a) == dimension_of(b) and len({pressure_kind(a), pressure_kind(b)} - {None}) < 2


def _scale(name: str) -> tuple[Decimal, Decimal]:
    if name in UNITS:
        return UNITS[name].factor, UNITS[name].offset
    top, _, below = name.partition("/")
    return _scale(top)[0] / _scale(below)[0], Decimal(0)


def in_si(value: Decimal, unit: str) -> Decimal:
    """value in the SI unit of its dimension (psi in Pa, F in K), to 12 significant digits. Raises ValueError for a unit not known."""
    if dimension_of(unit) is None:
        raise ValueError(f"{unit} is no unit that can be converted")
    with localcontext() as context:
        context.prec = 40
        factor, offset = _scale(unit)
        result = value * factor + offset
        context.prec = 12
        return +result


def convert(value: Decimal, unit: str, to: str) -> Decimal:
    """value in another unit of the same dimension, to 12 significant digits. Raises ValueError where they are not compatible."""
    if unit == to:
        return value
    if not compatible(unit, to):
        raise ValueError(f"cannot turn {unit} ({dimension_of(unit)}) into {to} ({dimension_of(to)})")
    with localcontext() as context:
        context.prec = 40
        (a, b), (c, d) = _scale(unit), _scale(to)
        result = (value * a + b - d) / c
        context.prec = 12
        return +result


def _form_at(words: Sequence[str], start: int) -> tuple[int, str] | None:
    for length in range(min(_LONGEST, len(words) - start), 0, -1):
        form = tuple(words[start:start + length])
        if form in _BY_FORM and not (length == 1 and form[0] in _SHORT):
            return start + length, _BY_FORM[form]
        if length == 1 and form[0] in _OPEN:
            return start + 1, _OPEN[form[0]][0]
    return None


def read_unit(words: Sequence[str], start: int) -> UnitReading | None:
    """The unit whose words begin at start (words in lower case, no punctuation), the longest that fits; None for none.

    'feet per second', 'metres a minute', 'litres a minute each' are composed rates.
    """
    if start >= len(words) or (words[start] not in _FIRST_WORDS and words[start] not in _BY_FORM_SINGLE):
        return None
    found = _form_at(words, start)
    if found is None:
        return None
    end, name = found
    below = _below(words, end)
    if below:
        name = "lb" if words[start] in ("pounds", "pound") and below[1] in _TIMES else name  # 'pounds an hour' flow, and press on nothing
        name = "mL" if words[start] in ("mil", "mils") and below[1] in _TIMES else name  # a flow again
        end, name = below[0], name if name.endswith(f"/{below[1]}") else canonical(f"{name}/{below[1]}") or name
        return UnitReading(start, end, name)
    fair = _OPEN.get(words[start], (name,)) if end == start + 1 else (name,)
    return UnitReading(start, end, fair[0], fair[1:])


_TIMES = frozenset(("s", "min", "h"))
_BY_FORM_SINGLE = {form[0] for form in _BY_FORM if len(form) == 1}
_TIME_WORDS = {"second": "s", "sec": "s", "seconds": "s", "minute": "min", "min": "min", "hour": "h", "hr": "h", "inch": "in",
               "foot": "ft", "metre": "m", "meter": "m", "litre": "L", "liter": "L"}


def _below(words: Sequence[str], end: int) -> tuple[int, str] | None:
    if end + 1 < len(words) and words[end] in _PER and words[end + 1] in _TIME_WORDS:
        below = _TIME_WORDS[words[end + 1]]
        squared = 1 if words[end + 2:end + 3] == ["squared"] or words[end + 2:end + 3] == ("squared",) else 2 if (
            words[end + 2:end + 3] and words[end + 2] in _PER and words[end + 3:end + 4] and _TIME_WORDS.get(words[end + 3]) == below) else 0
        return (end + 2 + squared, f"{below}2") if squared else (end + 2, below)
    return None


_JOINED = re.compile(r"^([+-]?[\d.,/]+)(%|°[fc]?|[a-zµ'/0-9]+)$", re.IGNORECASE)


@lru_cache(maxsize=4096)
def joined_unit(word: str) -> str | None:
    """The unit written against figures in one word ('24V' -> 'V', '36%' -> 'percent', '5ft' -> 'ft'); None for none."""
    found = _JOINED.match(word.strip(".,?!;:"))
    if not found:
        return None
    tail = found.group(2)
    if tail in UNITS:
        return tail
    return _BY_FORM.get((tail.lower(),)) if tail.lower() not in {"a", "c", "b"} or tail in {"A", "C"} else None


def choose(names: Sequence[str], dimension: str | None) -> str | None:
    """Of several fair units the one of a dimension: ('psi', 'lb') and 'mass' -> 'lb'; the first when none is asked for."""
    if dimension is None:
        return names[0] if names else None
    return next((name for name in names if dimension_of(name) == dimension), None)
