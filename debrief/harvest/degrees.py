"""'Degrees' are of an angle or of heat, by what they are told of.

No heading, list or flap gets warm, and no oil or blast has a direction; more than a full circle is heat. A bearing and a track are both. Of what
is left nobody knows, and the row says so. Common practice, no source.
"""
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from .parameter_words import HEADS, THERMAL
from .readout_words import word_set

OPEN = "degrees of an angle or of heat: nobody says which"
FULL_CIRCLE = 360
BOTH = word_set("bearing track")
"""A direction; and a part of a machine, a road."""
_WARM = THERMAL | word_set(
    "blast base inverter tyre tire disc drum pad caliper clutch transmission differential axle axlebox alternator generator transformer compressor "
    "cylinder collector condenser boiler reboiler superheater exhaust intake inlet outlet hub cathode anode filament tank sump sink bath melt slag steel "
    "iron metal mould die grain feed plate heater window hull concrete rail road snow ice rock sand brine mud product cargo wort mash liquor "
    "vapour vapor steam smoke freezer fridge incubator rectal hand toe probe thermocouple sensor board processor laser diode camera pack stack membrane "
    "reactor still column kettle hearth crown regenerator throat tuyere cooler chiller cryostat dewar pool pond well greenhouse tent engine-room")
_ANGULAR = word_set("rudder elevator aileron flap list heel tilt swing lean slope incline incline's wedge gimbal trunnion azimuth elevation phase jib boom luff "
                    "wing sextant star position nose tail shaft slew swash vane crab drift twist bank pitch roll yaw trim cant camber deflection "
                    "rotation turned turn sector arc longitude latitude "
                    "inclination declination crank advance timing steering bow stern port starboard lock dip strike grade bubble clinometer")


def sense(words: Sequence[str], value: Decimal) -> Literal["temperature", "angle", "both"] | None:
    """What degrees of a thing with this name are; None where nothing tells."""
    said = [{word.lower(), word.lower().removesuffix("s")} for word in words]
    heads = [{HEADS[part].dimension for part in parts if part in HEADS} for parts in said]
    if any("temperature" in kinds for kinds in heads):
        return "temperature"
    for parts, kinds in zip(reversed(said), reversed(heads), strict=True):  # the last word that tells: a star tracker's case gets warm
        if parts & BOTH:
            return "both" if abs(value) <= FULL_CIRCLE else "temperature"
        if parts & _WARM:
            return "temperature"
        if parts & _ANGULAR or "angle" in kinds:
            return "angle"
    return "temperature" if abs(value) > FULL_CIRCLE else None
