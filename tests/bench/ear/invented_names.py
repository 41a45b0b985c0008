"""Call signs and terms drawn at random: thousands of things' names from WordNet, place-like and surname-like words from syllables, alphabets."""
import re
from functools import cache
from pathlib import Path
from random import Random

WORDNET = Path("/usr/share/wordnet/data.noun")  # Debian wordnet-base
COMMON = Path("/usr/share/dict/american-english-small")  # Debian wamerican-small
THINGS = {"05", "06", "17", "20", "27"}  # WordNet's files of animals, artefacts, natural objects, plants, substances
PHONETIC = ("Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa Quebec Romeo Sierra Tango "
            "Uniform Victor Whiskey X-ray Yankee Zulu").split()
GREEK = "Beta Gamma Epsilon Theta Kappa Lambda Omega Sigma Omicron Zeta".split()
STARTS = ("ash bar bel bren cal car cor dal dun el fal fen gar glen hal har hol kel ken kil lan lar lin mar mel mor nor pel pen ram ren ros sal "
          "sel sten sul tal tam tar thorn tor tre ul val ver wal wen wes wil yar zel").split()
MIDDLES = ["", "", "", "a", "e", "er", "in", "o", "en", "al", "is"]
ENDS = ("bridge burn bury by combe dale den field ford gate ham haven holm hurst land ley low mere minster moor ness port ridge stead ster stone "
        "ton wick wood worth yard").split()
SURNAME_ENDS = "er son man ard ell in ov ski sen berg ez ano ini aki ura ata oro ley more kin ter wright ward".split()
SECOND = ("Base Point House Lead Ridge Tower Station Relay Leader Control Actual Mobile Field Crew Deck Shore Camp Yard Gate Hill Watch Bay "
          "One Two Three Four Five Six Seven Eight Nine Ten").split()
JOBS = ("Operator Lead Tech Officer Watch Supervisor Crew Monitor Spotter Handler Driver Engineer Marshal Runner Scribe Keeper Desk").split()
UNSUITED = re.compile(r"sex|porn|nazi|slave|whore|corpse|rape|condom|coffin|gallows|pistol|dung|crap|bra$|panty|thong|opium|heroin|weed|drug")


@cache
def things() -> tuple[str, ...]:
    """Everyday nouns for things, most of them known to everybody, in the order of the alphabet."""
    common = set(COMMON.read_text(encoding="utf-8").split())
    found = set()
    for line in WORDNET.read_text(encoding="utf-8").splitlines():
        parts = line.split(" ")
        if len(parts) > 4 and parts[1] in THINGS:
            found.add(parts[4])
    return tuple(sorted(word for word in found if word in common and word.isalpha() and word.islower() and 3 < len(word) < 11
                        and not UNSUITED.search(word)))


def place(rng: Random) -> str:
    return (rng.choice(STARTS) + rng.choice(MIDDLES) + rng.choice(ENDS)).capitalize()


def surname(rng: Random) -> str:
    return (rng.choice(STARTS) + rng.choice(MIDDLES) + rng.choice(SURNAME_ENDS)).capitalize()


def letters(rng: Random) -> str:
    """Two to four letters, each said by its name. A is left out: some voices read it as the article."""
    return " ".join(rng.choice("BCDEFGHJKLMNPQRSTUVWXYZ") for _ in range(rng.choice((2, 2, 3, 3, 4))))


def phonetic(rng: Random) -> str:
    return " ".join(rng.choice(PHONETIC) for _ in range(rng.choice((1, 1, 2, 2, 3))))


def callsign(rng: Random, stations: list[str]) -> str:
    """A station's name: of the trade, or invented."""
    way = rng.random()
    thing = rng.choice(things()).capitalize()
    if way < 0.30:
        return rng.choice(stations)
    if way < 0.55:
        return thing
    if way < 0.66:
        return thing + " " + rng.choice(SECOND)
    if way < 0.74:
        return place(rng)
    if way < 0.80:
        return place(rng) + " " + rng.choice(SECOND)
    if way < 0.87:
        return rng.choice(PHONETIC + GREEK) + " " + rng.choice(SECOND[-10:] + PHONETIC)
    if way < 0.92:
        return thing + " " + rng.choice(JOBS)
    if way < 0.96:
        return surname(rng)
    return rng.choice(GREEK)
