"""Presets of the speech filter, and the model that hears where none is named, as data."""
from dataclasses import dataclass

DEFAULT_MODEL = "radio"


@dataclass(frozen=True, slots=True)
class SpeechSettings:
    """begin, keep, peak: the detector's probability that starts a run, that it must hold, and that it must reach once.

    sure: a peak at or over it needs no other evidence; under it a run must not look like a tone (tone_share of its power in two
    lines) nor like hum or noise (hum_flatness, noise_flatness), nor be shorter than shortest_s. loud_*: a run of loud_s or more whose
    louder quarter stands loud_db over the loop's floor, and that looks like neither, needs loud_peak alone: the detector knows some voices
    badly however well they are heard. above_floor_db: how far over the loop's own floor a run must begin; floor_*: how that floor is
    found; dead_db: below it there is nothing at all. pad_*: kept around every run; join_s: pauses this short belong to the run;
    longest_s: longer runs are cut, into pieces of cut_s at most.
    """

    name: str
    begin: float
    keep: float
    peak: float
    above_floor_db: float
    sure: float = 0.5
    tone_share: float = 0.92
    hum_flatness: float = 0.005
    noise_flatness: float = 0.55
    shortest_s: float = 0.16
    loud_peak: float = 0.1
    loud_db: float = 12.0
    loud_s: float = 0.3
    pad_before_s: float = 0.6
    pad_after_s: float = 0.8
    join_s: float = 2.5
    longest_s: float = 28.0
    cut_s: float = 20.0
    floor_window_s: float = 60.0
    floor_percentile: float = 10.0
    dead_db: float = -85.0


RADIO = SpeechSettings("radio", begin=0.05, keep=0.02, peak=0.18, above_floor_db=2.0)
CLEAN = SpeechSettings("clean", begin=0.3, keep=0.15, peak=0.5, above_floor_db=6.0, loud_peak=0.5)
PRESETS = {preset.name: preset for preset in (RADIO, CLEAN)}
