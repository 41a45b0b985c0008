"""Lines of radio talk made from the templates of talk_rules.py, the trades of trades.toml, the lexicon's terms and invented names."""
import re
import tomllib
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import invented_names as names
import spoken_numbers as numbers
from talk_rules import CLOSED, KINDS, OPENED, RULES

HERE = Path(__file__).resolve().parent
LEXICON = HERE.parents[2] / "lexicon"
EVENTS = ("gas on", "lift off", "brakes on", "release", "touchdown", "ignition", "door closed", "power on", "start", "splash", "hatch open", "separation",
          "leaving surface", "wheels stop", "hands on", "pump start", "clamp release", "burner on", "fire out", "gate open", "cut off", "lights out", "feet wet")
TASKS = ("run {n}", "departure", "the next step", "pressurization", "launch", "descent", "entry", "the {thing} test", "loading", "release", "power up",
         "door closure", "restart", "the brake run", "lift", "the {thing}", "crew transfer")
SMALL_SCORES = "one two three four five six seven eight nine ten".split()
PLURALS = "ones twos threes fours fives sixes sevens eights nines tens".split()
SLOT = re.compile(r"\[(\w+)\]")


@cache
def trades() -> dict[str, dict[str, list[str]]]:
    return tomllib.loads((HERE / "trades.toml").read_text(encoding="utf-8"))


@cache
def lexicon_terms(kind: str) -> tuple[str, ...]:
    found = []
    for path in sorted(LEXICON.glob("*.toml")):
        for item in tomllib.loads(path.read_text(encoding="utf-8")).get(kind, []):
            found.append(item["term"])
    return tuple(term for term in found if not re.search(r"[A-Z]*A[A-Z]*|\d", term) or term.istitle())


@dataclass
class Line:
    """One line under construction: its trade, its speakers, and the terms that were used."""

    rng: Random
    trade: dict[str, list[str]]
    terms: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        stations = self.trade["stations"] + trades()["any"]["stations"]
        self.names = [names.callsign(self.rng, stations) for _ in range(4)]
        self.units: dict[str, str] = {}
        self.unit: str | None = None
        self.top = self.rng.choice((5, 5, 7, 10, 10, 10, 4, 20))

    def note(self, term: str) -> str:
        if term not in self.terms:
            self.terms.append(term)
        return term

    def filled(self, template: str) -> str:
        kept = re.sub(r"\{([^{}]*)\}", lambda found: found[1] if self.rng.random() < 0.4 else "", template)
        return SLOT.sub(lambda found: self.slot(found[1]), kept)

    def slot(self, name: str) -> str:
        made = getattr(self, "slot_" + name, None)
        return str(made()) if made else self.rule(name)

    def rule(self, name: str) -> str:
        return self.filled(self.rng.choice(RULES[name]))

    def slot_to(self) -> str:
        return self.note(self.names[0] if self.rng.random() < 0.7 else self.names[2])

    def slot_me(self) -> str:
        return self.note(self.names[1])

    def slot_surname(self) -> str:
        return self.note(names.surname(self.rng))

    def slot_quantity(self) -> str:
        """A quantity of the trade, of the lexicon, or invented ('lower bracket tension'); its unit is kept for the value that follows."""
        rng, pool = self.rng, trades()["any"]
        way = rng.random()
        if way < 0.33:
            name, unit = rng.choice(self.trade["quantities"]).split(" / ")
        elif way < 0.45:
            name, unit = rng.choice(lexicon_terms("parameters")), rng.choice(pool["units"])
        else:
            name = rng.choice(names.things()) + " " + rng.choice(pool["nouns"])
            name = rng.choice((name, name, rng.choice(pool["places"]) + " " + name, rng.choice(pool["places"]) + " " + rng.choice(pool["nouns"])))
            unit = rng.choice(pool["units"])
        self.unit = unit
        return self.note(name)

    slot_quantity2 = slot_quantity

    def slot_value(self) -> str:
        """A number, with its unit two times in three."""
        unit = self.rng.choice(trades()["any"]["units"]) if self.unit is None else self.unit
        number = numbers.any_number(self.rng)
        return f"{number} {unit}".strip() if self.rng.random() < 0.62 else number

    def slot_number(self) -> str:
        return numbers.any_number(self.rng)

    def slot_small(self) -> str:
        return numbers.whole(self.rng.randrange(1, 31), self.rng)

    slot_small2 = slot_small

    def slot_identifier(self) -> str:
        return numbers.identifier(self.rng)

    def slot_clock(self) -> str:
        return numbers.clock(self.rng)

    def slot_timeofday(self) -> str:
        return numbers.time_of_day(self.rng)

    def slot_stepno(self) -> str:
        step = numbers.whole(self.rng.randrange(1, 130), self.rng)
        if self.rng.random() < 0.25:
            step += " " + self.rng.choice(names.PHONETIC[:8])
        elif self.rng.random() < 0.2:
            step += " point " + self.rng.choice(SMALL_SCORES[:9])
        return step

    def slot_score(self) -> str:
        score = self.rng.randrange(1, self.top + 1)
        return numbers.below_hundred(score) + (" point five" if self.rng.random() < 0.06 else "")

    def slot_scores(self) -> str:
        return PLURALS[self.rng.randrange(0, min(10, self.top))]

    def slot_top(self) -> str:
        return numbers.below_hundred(self.top)

    def slot_axis(self) -> str:
        way = self.rng.random()
        axis = self.rng.choice(trades()["any"]["axes"]) if way < 0.55 else self.rng.choice(names.things()) + " " + self.rng.choice(trades()["any"]["axes"])
        return self.note(axis if way < 0.85 else self.rng.choice(lexicon_terms("phrases") + lexicon_terms("parts")))

    def slot_part(self) -> str:
        way = self.rng.random()
        if way < 0.35:
            return self.note(self.rng.choice(self.trade["parts"]))
        if way < 0.5:
            return self.note(self.rng.choice(lexicon_terms("parts")))
        thing = self.rng.choice(names.things())
        second = self.rng.choice(("valve", "pump", "switch", "line", "cover", "door", "panel", "clamp", "sensor", "cable", "hatch", "pin", "lamp", "fan", "lock"))
        joined = self.rng.choice((thing, f"{thing} {second}", f"{self.rng.choice(trades()['any']['places'])} {thing}"))
        return self.note(joined)

    def slot_thing(self) -> str:
        return self.rng.choice(names.things())

    def slot_things(self) -> str:
        return self.rng.choice(("valves", "stations", "breakers", "doors", "hatches", "crews", "lines", "locks", "lamps", "cameras"))

    def slot_action(self) -> str:
        return self.filled(self.rng.choice(trades()["any"]["actions"]))

    slot_action2 = slot_action

    def slot_state(self) -> str:
        return self.rng.choice(trades()["any"]["states"])

    def slot_place(self) -> str:
        return self.rng.choice(trades()["any"]["places"])

    def slot_event(self) -> str:
        return self.rng.choice(EVENTS) if self.rng.random() < 0.7 else self.rng.choice(names.things()) + " " + self.rng.choice(("off", "on", "clear", "away"))

    def slot_task(self) -> str:
        return self.rng.choice(TASKS).format(n=self.slot_small(), thing=self.slot_thing())

    def slot_phonetic(self) -> str:
        return names.phonetic(self.rng)

    def slot_letters(self) -> str:
        return names.letters(self.rng)

    def slot_letter(self) -> str:
        return self.rng.choice("BCDEFGHJKLMNPRSTUVWXYZ")

    def slot_spelled(self) -> str:
        word = self.rng.choice([thing for thing in names.things() if len(thing) < 7])
        return ", ".join(names.PHONETIC[ord(letter) - ord("a")] for letter in word) + ", " + word


def sentence_case(text: str, keep: list[str]) -> str:
    """First letters of sentences up, terms that stand inside a sentence as they are, spaces tidy."""
    text = re.sub(r"\s+", " ", re.sub(r"\s+([,.?!])", r"\1", text)).strip()
    text = re.sub(r",\s*,", ",", text)
    text = re.sub(r"\ba (?=eight|eleven|[aeio]\w+ (?:of|line))", "an ", text)
    text = re.sub(r",+(?=[.?!])", "", text)
    text = re.sub(r"([,.?!])([,.])", r"\1", text)
    small = re.sub(r"(^|[.?!:] )([a-z])", lambda found: found[1] + found[2].upper(), text)
    return re.sub(r"(\w, )(Roger)\b", lambda found: found[1] + "roger", small) if "Roger" not in keep else small


def radio_line(rng: Random) -> dict[str, Any]:
    """One utterance: {'text', 'terms', 'kind': 'radio'}."""
    trade = trades()[rng.choice(sorted(set(trades()) - {"any"}))]
    line = Line(rng, trade)
    kind = rng.choices(list(KINDS), list(KINDS.values()))[0]
    if kind == "call":
        text = line.rule("opening")
    elif kind == "ack":
        text = line.rule("ack") + rng.choice((".", ".", ", [me].", ", thank you.", ". [ack]."))
        text = line.filled(text)
    else:
        text = line.rule(kind)
        while rng.random() < 0.22:
            text += " " + line.rule(rng.choice((kind, "readout", "readback", "rating", "chatter", "state")))
        if rng.random() < OPENED[kind]:
            text = line.rule("opening") + " " + text
        elif rng.random() < 0.12:
            lead = line.rule("ack")
            text = rng.choice(("{}. {}", "{}, {}", "uh, {}. {}", "okay, {}. {}")).format(lead, text)
        if rng.random() < CLOSED:
            text = text[:-1] + rng.choice((", over.", ", please.", ", uh, over.", ". Over.", ", out."))
    text = sentence_case(text, line.terms)
    text = re.sub(r"[A-Z]{2,}", lambda found: " ".join(found[0]) if found[0] in {"PSI"} else found[0], text)
    return {"text": text, "terms": [term for term in line.terms if term.lower() in text.lower()], "kind": "radio"}
