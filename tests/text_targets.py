"""Every reader of text from outside, as functions of bytes: each must return or refuse in our own words, whatever it is given."""
import tempfile
from collections.abc import Callable
from pathlib import Path

from debrief.errors import DebriefError
from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Segment, Source, Word
from debrief.session import Session, load_session
from debrief.session_cards import read_cards
from debrief.store.search import as_match
from debrief.wording.correction import read_as
from debrief.wording.lexicon import load_lexicon

SOURCE = Source("r1", 0)
_FOLDER = tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None)


def _file(name: str, data: bytes) -> Path:
    path = Path(_FOLDER.name) / name
    path.write_bytes(data)
    return path


def _transcript(ending: str) -> Callable[[bytes], None]:
    def read(data: bytes) -> None:
        try:
            for segment in read_transcript(_file(f"talk{ending}", data), SOURCE):
                assert segment.span is None or 0 <= segment.span.start <= segment.span.end
                assert all(word.text.isprintable() or "\u00ad" in word.text or not word.text.isascii() for word in segment.words)
        except DebriefError:
            return
    return read


def session_file(data: bytes) -> None:
    try:
        load_session(_file("session.toml", data))
    except DebriefError as error:
        str(error)


def lexicon_pack(data: bytes) -> None:
    load_lexicon.cache_clear()
    try:
        load_lexicon((_file("pack.toml", data),))
    except DebriefError as error:
        str(error)


def cards_csv(data: bytes) -> None:
    read_cards(_file("cards.csv", data))


def cards_xlsx(data: bytes) -> None:
    read_cards(_file("cards.xlsx", data))


def search_words(data: bytes) -> None:
    try:
        as_match(data.decode("utf-8", "replace"))
    except DebriefError:
        return


def talk(data: bytes) -> None:
    """Text straight into conversation and harvest."""
    words = data.decode("utf-8", "replace").split()[:60]
    segment = Segment("s1", tuple(Word(word) for word in words), SOURCE)
    harvest(Talk(cut_turns([segment], {"s1": read_as(segment)}, Session(), {}), Session()))


TARGETS: dict[str, tuple[Callable[[bytes], None], tuple[bytes, ...]]] = {
    "jsonl": (_transcript(".jsonl"), (
        b'{"t": 1.5, "end_s": 2, "speaker": "CC", "loop": "A", "text": "Go for it.", "words": [{"word": "Go", "start_s": 1.5, "probability": 0.5}]}\n',)),
    "vtt": (_transcript(".vtt"), (b"WEBVTT head\n\nNOTE x\n\n1\n00:00:01.000 --> 00:00:02.500 align:left\n<v.loud Ida>Go &amp; stop<v Ole>no</v>\n\n",)),
    "srt": (_transcript(".srt"), (b"1\n00:00:01,000 --> 00:00:02,500\nIDA: Go <i>now</i>\n\n2\n00:00:03,000 --> 00:00:04,500\n34.30 bar\n\n",)),
    "ctm": (_transcript(".ctm"), (b";; note\nrec 1 0.50 0.20 go 0.9\nrec 1 1.50 0.20 on NA\n",)),
    "session": (session_file, (
        (b'title = "x"\nrecordings = ["a.wav"]\n[[loops]]\nname = "A"\n[[stations]]\nname = "B"\naliases = ["C"]\n[[scales]]\nname = "s"\nlow = 1\nhigh = 5\n'
        b'[[limits]]\nwhat = "p"\nmin = 1\nmax = 2\n[[clocks]]\nname = "c"\ncounts = "down"\nfrom_s = "0:05:00"\n[[cards]]\nid = 1\nsteps = [{id = "1a"}]\n'),)),
    "lexicon": (lexicon_pack, (b'pack = "x"\nsource = "y"\n[[terms]]\nterm = "pump"\nkind = "part"\n',)),
    "cards": (cards_csv, (b'card,title,step,text,rating,scale\n1,"One, two",1a,go,ease,s\n,,1b,"stop\nnow",,\n',)),
    "search": (search_words, (b'"tank pressure" NEAR pump* low',)),
    "talk": (talk, (
        b"Cabin, Line, tank pressure is three four decimal three zero bar, mark, plus four minutes, go no go, I give it a three.",
        b"Correction, that is minus one point five degrees, twice, at 12:30:05, 1, 8, 8 and 80, 2.", b"-9 to +-3,4 /5 1e9 %% 0x1F \xc2\xbd \xe2\x88\x921 \xd9\xa3")),
}
