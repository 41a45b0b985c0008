"""What instrument values are called: heads of parameter names, what each measures, and the unit that usually goes unsaid.

Trade facts, common practice, no source. A head with no unit is a parameter whose unit only the session or the talk can tell.
"""
from dataclasses import dataclass
from decimal import Decimal

_TABLE = """
pressure press | pressure |
temperature temp temps temperatures dewpoint dew | temperature |
quantity | ratio | percent
humidity | ratio | percent
oxygen o2 | ratio | percent
hydrogen h2 nitrogen n2 helium | |
co2 carbon | ratio |
fuel propellant ox oxidizer oxidiser | ratio |
flow | flow |
load | mass |
depth pneumo | length | m
height altitude elevation | length | ft
speed airspeed velocity | speed |
wind gust gusting gusts | speed | kt
heading bearing course azimuth track | angle | deg
roll pitch yaw attitude bank angle sideslip flaps rolled pitched yawed banked | angle | deg
nose | angle | deg
alpha beta theta gamma | angle | deg
trim | |
rate | |
voltage volts voltages bus | potential | V
current amps ammeter amperage | current | A
amp-hours ampere-hours amp-hour | charge | Ah
pulse | rate | bpm
heart | rate | bpm
breathing respiration respirations | rate | /min
diastolic systolic | pressure | mmHg
distance range clearance separation | length |
weight mass | mass |
force pull push tension | force |
torque | torque |
power | power |
rpm revs | rotation | rpm
qnh qfe altimeter barometer | pressure | hPa
cht egt oat itt | temperature |
setting selector set | |
gage gauge meter reading readout dial needle indicator | |
supply return | pressure |
bottle tank bank manifold | pressure |
battery batteries cell | |
vacuum | pressure |
inverter | temperature |
steam dome inlet outlet exhaust | temperature |
level | |
thrust | force |
frequency | frequency |
dose | dose |
concentration methane monoxide | ratio |
acceleration | acceleration | g
drift | |
vibration | |
peak | |
displacement deflection gap width length thickness | length |
waves swell | length | m
umbilical hose cable rope tape | length |
delta-v | speed | ft/s
mach | Mach number | Mach
visibility | length |
perigee apogee | length | nmi
shadow | angle | deg
leak leakage | |
changeover limit minimum maximum redline | |
stall buffet | speed | kt
stick | force |
count | |
"""


@dataclass(frozen=True, slots=True)
class Head:
    dimension: str | None
    unit: str | None


def _load() -> dict[str, Head]:
    heads = {}
    for line in _TABLE.strip().splitlines():
        words, dimension, unit = (cell.strip() for cell in line.split("|"))
        for word in words.split():
            heads[word] = Head(dimension or None, unit or None)
    return heads


HEADS: dict[str, Head] = _load()
WEAK_HEADS = frozenset("gage gauge meter reading readout dial needle indicator bottle tank bank manifold battery batteries cell inverter steam "
                       "supply return inlet outlet exhaust level rate setting selector set umbilical hose cable rope tape leak load rate "
                       "limit minimum maximum redline time count peak heart stick stall main bus trim fuel "
                       "oxygen o2 hydrogen h2 nitrogen n2 helium propellant suit cabin".split())
"""Heads that only lend their unit where no stronger head stands beside them ('tank pressure' is a pressure, 'tank' alone too)."""
INSTRUMENTS = frozenset("gauge gage gauges meter tape scale dial needle indicator readout reading clino display counter instrument "
                        "scanner telemetry computer laser radar sonar trace screen".split())
"""What a value is read off; alone they name nothing that is measured."""
SPEC_UNIT = {"pressure": "psi", "temperature": "F"}
"""Units that go unsaid in talk that has no session file and speaks no other unit of the dimension (assumed, and said so)."""
_RANGES = {"percent": (-5, 150), "deg": (-360, 360), "bpm": (20, 260), "/min": (2, 90), "Mach": (0, 30), "g": (-15, 30), "hPa": (20, 1100)}


def possible(unit: str | None, value: Decimal) -> bool:
    """Whether a value can be one in this unit: a name is not carried on to what it cannot have. Bounds are common sense, and wide."""
    low, high = _RANGES.get(unit or "", (value, value))
    return low <= value <= high


METRIC = {"pressure": "bar", "temperature": "C"}
QUANTITY_WORDS = frozenset("fuel propellant ox oxygen o2 quantity".split())
"""Amounts told as a percentage where no unit is said and the value can be one."""
SETTABLE = frozenset("roll pitch yaw attitude bank angle alpha beta theta heading course speed airspeed altitude trim flaps setting".split())
"""What people set: 'attitude will be ...' orders, where 'temperature will be ...' foretells."""
THERMAL = frozenset("oil water air motor drum brake brakes pump gearbox box rack room bay panel battery glove skin plate wall radiator amplifier coil "
                    "core magnet coolant engine turbine gas ground soil sea floor duct housing winding windings casing "
                    "furnace oven kiln case cabin suit cell chamber seal seals jacket jackets "
                    "head heads stator rotor finger core dome evaporator".split())
"""Things whose 'degrees' are of temperature where no other measure is named. Common practice, no source."""
MEASURES = {"long": "length", "wide": "width", "across": "width", "deep": "depth", "high": "height", "tall": "height", "thick": "thickness"}
"""Adjectives behind a unit that tell what is measured ('a hundred and forty millimetres long')."""
