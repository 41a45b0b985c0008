"""Recordings to segments: sound in, speech spans, the recogniser and its weighing of candidate texts. Knows no lexicon."""
