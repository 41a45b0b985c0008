"""What is said in the demo, by whom, on which loop and when, and the rows that a careful listener would write.

A text is cut into phrases at ' / '; a phrase with '*' begins exactly at the line's `at` (session seconds, the clock of file A). Without
`at` a line begins `gap` seconds after the line before it has ended. Loops: L = Line, C = Cabin (file A), V = Valley (file B).
A field that begins with '@' is replaced by the start of the line with that key. Everything is invented.
"""
from dataclasses import dataclass, field
from typing import Any

Row = tuple[str, dict[str, Any]]


@dataclass(frozen=True)
class Line:
    who: str
    loops: str
    text: str
    at: float | None = None
    gap: float = 0.9
    key: str = ""
    rows: list[Row] = field(default_factory=list)


def reading(parameter: str, value: str, unit: str, subject: str = "", **more: Any) -> Row:
    return "readouts", {"parameter": parameter, "value": value, "unit": unit, "subject": subject, "class": "measured", **more}


def rating(axis: str, value: str, scale: str, subject: str, card: str, **more: Any) -> Row:
    return "ratings", {"axis": axis, "value": value, "scale": scale, "subject": subject, "condition": {"card": card},
                       "hedge": False, "superseded": False, **more}


def poll(station: str, answer: str, **more: Any) -> Row:
    return "polls", {"station": station, "answer": answer, "question": "loaded run", **more}


def pair(first: str, item: str, match: bool = True, **more: Any) -> Row:
    return "readbacks", {"said_s": f"@{first}", "item": item, "match": match, "corrected": False, **more}


def clock(name: str, **more: Any) -> Row:
    return "clock_calls", {"clock": name, "verdict": "right", **more}


def step(card: str, name: str, event: str) -> Row:
    return "steps", {"card": card, "step": name, "event": event}


def state(parameter: str, words: str, subject: str) -> Row:
    return "qualitative", {"parameter": parameter, "state": words, "subject": subject}


def event(kind: str) -> Row:
    return "events", {"kind": kind}


def turn_of_clock(name: str, what: str, reading_s: float) -> Row:
    return "clock_events", {"clock": name, "event": what, "reading_s": reading_s}


def covered(card: str, item: str, what: str, given: str, subject: str = "") -> Row:
    return "coverage", {"card": card, "item": item, "what": what, "subject": subject, "state": given}


FIRST = [
    Line("SUM", "L", "Drive, Summit, radio check on the line loop.", at=3.0, rows=[event("comm_check")]),
    Line("DRI", "L", "Summit, Drive, you are loud and clear.", rows=[state("comm", "loud and clear", "Summit")]),
    Line("SUM", "L", "Ledger, how do you hear me?", rows=[event("comm_check")]),
    Line("LED", "L", "Ledger hears you, a little scratchy, but readable.", rows=[state("comm", "scratchy but readable", "Summit")]),
    Line("SUM", "C", "Warden, Summit on the cabin loop, how do you read?", rows=[event("comm_check")]),
    Line("WAR", "C", "Reading you well. Medic is beside me, and the patient is strapped down.", rows=[
        state("patient", "strapped down", "patient"), state("comm", "reading well", "Summit")]),
    Line("SUM", "C", "Thank you. Card one, Warden. One alpha, lock the doors, and give me a mark.", rows=[step("1", "1a", "start")]),
    Line("WAR", "C", "Doors are closing. / Both bolts are home. / *Mark.", at=50.0, rows=[
        step("1", "1a", "complete"), clock("door clock", mark=True), turn_of_clock("door clock", "start", 0),
        ("times", {"kind": "mark", "text": "Mark"}), state("bolts", "home", "doors")]),
    Line("SUM", "V", "Base, Summit, radio check on the valley loop.", at=52.5, rows=[event("comm_check")]),
    Line("BAS", "V", "Base here, good signal down at the river.", rows=[state("comm", "good signal", "Summit")]),
    Line("PYL", "V", "Pylon has you, but you are weak.", rows=[state("comm", "weak", "Summit")]),
    Line("HER", "V", "Good morning and welcome to the gorge. The yellow cabin above you weighs as much as three cars, and today it "
         "carries a patient across the river for the first time.", gap=2.0),
    Line("DRI", "L", "Summit, Drive. Motor temperature is forty-one degrees, oil pressure three point two bar.", at=67.0, rows=[
        reading("motor temperature", "41", "C", "motor"), reading("oil pressure", "3.2", "bar", "motor")]),
    Line("SUM", "L", "Copy, Drive. One bravo, please, the brake test.", gap=1.2, rows=[step("1", "1b", "start")]),
    Line("DRI", "L", "Brake is on. / Brake pressure eighty-five bar, and it is holding. / Brake off. One bravo complete.", gap=2.5,
         key="brake", rows=[reading("brake pressure", "85", "bar", "brake"), state("brake pressure", "holding", "brake"),
                            step("1", "1b", "complete")]),
    Line("SUM", "L", "Eighty-five bar.", rows=[pair("brake", "brake pressure")]),
    Line("WAR", "C", "Summit, Warden. / *One minute on the door clock. / The cabin is twenty-four degrees, that is three degrees "
         "warmer than yesterday.", at=110.0, rows=[
             clock("door clock", offset_s=60), ("times", {"kind": "elapsed", "seconds": 60, "text": "one minute on the door clock"}),
             reading("cabin temperature", "24", "C", "cabin"),
             ("comparisons", {"parameter": "cabin temperature", "difference": "3", "unit": "C", "direction": "warmer",
                              "reference": "yesterday"})]),
    Line("SUM", "L", "Ledger, one charlie. Read me the serial off the rope grip.", gap=1.2, rows=[step("1", "1c", "start")]),
    Line("LED", "L", "Serial zero zero seven four. I say again, zero zero seven four.", key="serial", rows=[
        ("identifiers", {"what": "rope grip serial", "value": "0074"})]),
    Line("SUM", "LCV", "All stations, time hack. / It will be nine thirty hours local. / Three. / Two. / One. / *Hack.", at=140.0, rows=[
        ("time_hacks", {"get": "09:30:00", "seconds": 34200, "zone": "local"}), ("times", {"kind": "clock", "get": "09:30:00"})]),
    Line("LED", "L", "Ledger has the hack."),
    Line("SUM", "L", "Ledger, you gave me zero zero seven four. My sheet has zero zero four seven.", rows=[
        pair("serial", "rope grip serial"), ("identifiers", {"what": "serial in the sheet", "value": "0047"}),
        ("anomalies", {"what": "rope grip serial differs from the sheet", "location": "rope grip"}), event("anomaly")]),
    Line("LED", "L", "The grip was changed last week. Your sheet is old."),
    Line("SUM", "L", "Understood. We accept zero zero seven four as fitted. / I will correct the sheet after the run. / One charlie is "
         "done.", rows=[("decisions", {"what": "serial 0074 accepted as fitted"}), step("1", "1c", "complete"),
                        ("open_items", {"what": "correct the sheet", "owner": "Summit"}), event("open_item")]),
    Line("LED", "L", "Rope tension is four two point five kilonewtons.", key="tension", rows=[
        reading("rope tension", "42.5", "kN", "rope")]),
    Line("DRI", "L", "Copy, four two point five.", rows=[pair("tension", "rope tension")]),
    Line("SUM", "L", "The needle was moving, Drive. Repeat one bravo for me.", rows=[step("1", "1b", "repeat")]),
    Line("DRI", "L", "Brake is on again. / About eighty-seven bar now. / One bravo complete.", gap=1.8, rows=[
        reading("brake pressure", "87", "bar", "brake", approximate=True), step("1", "1b", "complete")]),
    Line("SUM", "C", "Warden, Medic, the seats please, one to five.", gap=1.2),
    Line("WAR", "C", "Seat is a four from me.", rows=[rating("seat", "4", "five-point", "Warden", "1")]),
    Line("MED", "C", "I have not sat down yet. I will give you my seat later.", rows=[
        covered("1", "rating", "seat", "given later", "Medic")]),
]

POLL = [
    Line("SUM", "C", "Card two, the loaded run. Medic, two alpha, lock the stretcher.", at=207.0, rows=[step("2", "2a", "start")]),
    Line("MED", "C", "Stretcher is locked, two alpha complete. / The patient's pulse is seventy-two.", gap=1.6, rows=[
        step("2", "2a", "complete"), reading("pulse", "72", "bpm", "patient"), state("stretcher", "locked", "stretcher")]),
    Line("SUM", "V", "Pylon, what is the wind?", rows=[]),
    Line("PYL", "V", "Wind six metres per second, gusting nine, from two four zero.", rows=[
        reading("wind speed", "6", "m/s"), reading("wind gust", "9", "m/s"), reading("wind direction", "240", "degrees")]),
    Line("SUM", "L", "Now the poll for the loaded run. Drive?", at=230.0),
    Line("DRI", "L", "Drive is GO.", rows=[poll("Drive", "GO")]),
    Line("SUM", "L", "Ledger?", gap=0.7),
    Line("LED", "L", "Stand by. The tension has not settled.", rows=[poll("Ledger", "STAND BY", reason="the tension has not settled")]),
    Line("SUM", "C", "Warden?", gap=0.7),
    Line("WAR", "C", "Warden is GO.", rows=[poll("Warden", "GO")]),
    Line("SUM", "C", "Medic?", gap=0.7),
    Line("MED", "C", "Medic is NO GO. The drip is not hung up.", rows=[
        poll("Medic", "NO GO", reason="the drip is not hung up"),
        ("anomalies", {"what": "drip not hung up", "location": "cabin", "resolved_s": "@drip"}), event("anomaly")]),
    Line("SUM", "V", "Base?", gap=0.7),
    Line("BAS", "V", "Base is GO, as long as the gusts stay below ten. / The Doctor has no radio. She says GO, I answer for her.", rows=[
        poll("Base", "GO", condition="as long as the gusts stay below ten"), poll("Doctor", "GO", given_by="Base")]),
    Line("SUM", "V", "Pylon?", gap=0.7),
    Line("SUM", "V", "Pylon, GO or NO GO?", gap=3.0),
    Line("SUM", "V", "And the Clinic? / Clinic, GO or NO GO?", gap=3.5, rows=[poll("Clinic", "none")]),
    Line("LED", "L", "Ledger is GO now, it has settled.", gap=3.5, rows=[poll("Ledger", "GO")]),
    Line("MED", "C", "Summit, the drip is hung up. Medic is GO.", key="drip", rows=[poll("Medic", "GO")]),
    Line("SUM", "LCV", "Nothing heard from Pylon or the Clinic. We are GO for the run.", gap=1.5, rows=[
        poll("Summit", "GO", decision=True), event("comm_loss")]),
    Line("SUM", "L", "The departure count starts at T minus two minutes. Stand by. / *Mark.", at=310.0, rows=[
        clock("departure count", mark=True), turn_of_clock("departure count", "start", -120), ("times", {"kind": "mark", "text": "Mark"}),
        ("times", {"kind": "countdown", "seconds": -120, "text": "T minus two minutes"})]),
    Line("PYL", "V", "Summit, Pylon. Sorry, I had the wrong channel. Pylon is GO.", gap=1.5, rows=[
        poll("Pylon", "GO", late=True), ("anomalies", {"what": "Pylon had the wrong channel", "location": "Pylon"}), event("anomaly")]),
    Line("HER", "V", "The countdown has started. Two minutes may feel long, but everybody is busy now.", gap=1.5),
    Line("LED", "L", "*T minus ninety seconds.", at=340.0, rows=[
        clock("departure count", remaining_s=90), ("times", {"kind": "countdown", "seconds": -90, "text": "T minus ninety seconds"})]),
    Line("BAS", "V", "Stop, stop, stop! / There is a walker under the rope.", at=346.0, rows=[
        ("stop_calls", {"what": "departure count", "reason": "a walker under the rope", "released_s": "@clear"}),
        ("anomalies", {"what": "walker under the rope", "location": "under the rope", "resolved_s": "@clear"}), event("anomaly")]),
    Line("SUM", "LCV", "Hold the count. / *Hold.", at=355.0, rows=[turn_of_clock("departure count", "hold", -75)]),
    Line("LED", "L", "Holding at T minus seventy-five seconds.", rows=[
        clock("departure count", remaining_s=75), ("times", {"kind": "countdown", "seconds": -75, "text": "T minus seventy-five seconds"})]),
    Line("WAR", "C", "Warden copies the hold. / *Five minutes fifteen on the door clock.", at=365.0, rows=[clock("door clock", offset_s=315), ("times", {"kind": "elapsed", "seconds": 315, "text": "five minutes fifteen on the door clock"})]),
    Line("BAS", "V", "The walker has gone, the ground is clear. You can go on.", at=374.0, key="clear"),
    Line("SUM", "L", "Thank you, Base. Ledger, recycle the count to T minus sixty seconds.", gap=1.2, rows=[
        turn_of_clock("departure count", "recycle", -60)]),
    Line("LED", "L", "Recycled, T minus sixty.", key="recycled"),
    Line("SUM", "LCV", "The count goes on. / *Mark.", at=392.0, rows=[
        turn_of_clock("departure count", "release", -60), clock("departure count", mark=True), ("times", {"kind": "mark", "text": "Mark"})]),
    Line("MED", "C", "The patient's pulse is up, eighty-eight.", gap=2.0, rows=[reading("pulse", "88", "bpm", "patient")]),
    Line("DRI", "L", "Motor temperature was forty-one, now fifty-two.", gap=1.5, rows=[
        reading("motor temperature", "41", "C", "motor", past=True), reading("motor temperature", "52", "C", "motor")]),
    Line("LED", "L", "*T minus thirty seconds.", at=422.0, rows=[
        clock("departure count", remaining_s=30), ("times", {"kind": "countdown", "seconds": -30, "text": "T minus thirty seconds"})]),
]

RUN = [
    Line("DRI", "L", "Two bravo, rope is moving. / *Departure, mark.", at=452.0, rows=[
        step("2", "2b", "start"), clock("run clock", mark=True), turn_of_clock("run clock", "start", 0),
        ("times", {"kind": "mark", "text": "Departure, mark"}), state("rope", "moving", "rope")]),
    Line("DRI", "L", "Line speed two. / Two point five. / Steady at three metres per second.", gap=3.0, rows=[
        reading("line speed", "2", "m/s", "rope"), reading("line speed", "2.5", "m/s", "rope"), reading("line speed", "3", "m/s", "rope")]),
    Line("SUM", "L", "Drive, after pylon one slow down to one point five metres per second.", gap=1.5, key="slow", rows=[
        reading("line speed", "1.5", "m/s", "rope", **{"class": "target"})]),
    Line("DRI", "L", "Slow down to two point five metres per second.", rows=[
        pair("slow", "line speed", False, said="1.5", readback="2.5", corrected=True)]),
    Line("SUM", "L", "Negative, Drive. One point five.", rows=[event("correction")]),
    Line("DRI", "L", "One point five, Drive.", rows=[pair("slow", "line speed")]),
    Line("LED", "L", "*Departure plus one minute. / Rope tension four three point one.", at=512.0, rows=[
        clock("run clock", offset_s=60), ("times", {"kind": "elapsed", "seconds": 60, "text": "plus one minute"}),
        reading("rope tension", "43.1", "kN", "rope")]),
    Line("SUM", "C", "Warden, Medic, sway and noise, please.", gap=1.2),
    Line("WAR", "C", "Sway is a three, noise is a two. / The window frame rattles.", rows=[
        rating("sway", "3", "ten-point", "Warden", "2", superseded=True), rating("noise", "2", "five-point", "Warden", "2"),
        ("remarks", {"about": "noise", "text": "the window frame rattles", "subject": "Warden"}),
        ("anomalies", {"what": "window frame rattles", "location": "window frame"}), event("anomaly")]),
    Line("MED", "C", "Sway, a four, maybe a five. / I had to hold the drip. / And noise is a seven.", rows=[
        rating("sway", "4", "ten-point", "Medic", "2", value_alt="5", hedge=True), rating("noise", "7", "five-point", "Medic", "2"),
        ("remarks", {"about": "sway", "text": "I had to hold the drip", "subject": "Medic"})]),
    Line("SUM", "C", "Say again your noise, Medic?", rows=[event("say_again")]),
    Line("MED", "C", "Noise, a seven. It is louder than the scale.", key="seven"),
    Line("WAR", "C", "Summit, Warden. Correction, make my sway a two.", gap=1.6, rows=[
        rating("sway", "2", "ten-point", "Warden", "2"), event("correction")]),
    Line("DRI", "L", "Motor temperature seventy-eight degrees. The limit is seventy-five.", at=552.5, rows=[
        reading("motor temperature", "78", "C", "motor"), reading("motor temperature", "75", "C", "motor", **{"class": "limit"}),
        ("exceedances", {"parameter": "motor temperature", "value": "78", "unit": "C", "limit": "75", "bound": "max"})]),
    Line("LED", "L", "Ledger reads motor temperature sixty-eight degrees.", rows=[reading("motor temperature", "68", "C", "motor")]),
    Line("DRI", "L", "There is a smell of hot oil at the motor.", rows=[
        ("anomalies", {"what": "smell of hot oil", "location": "motor"}), event("anomaly")]),
    Line("LED", "L", "*Departure plus three minutes.", at=572.0, rows=[
        clock("run clock", offset_s=180, verdict="wrong"), ("times", {"kind": "elapsed", "seconds": 180, "text": "plus three minutes"})]),
    Line("LED", "L", "Brake pressure eight six bar.", key="eightsix", gap=1.5, rows=[reading("brake pressure", "86", "bar", "brake")]),
    Line("DRI", "L", "Copy, six eight bar.", rows=[pair("eightsix", "brake pressure", False, said="86", readback="68")]),
    Line("SUM", "L", "Two charlie, Drive, stop at pylon two.", gap=1.5, rows=[step("2", "2c", "start")]),
    Line("DRI", "L", "The rope has stopped. / *Stopped, mark. / Two charlie complete.", at=592.0, rows=[
        clock("stop clock", mark=True), turn_of_clock("stop clock", "start", 0), step("2", "2c", "complete"),
        ("times", {"kind": "mark", "text": "Stopped, mark"}), state("rope", "stopped", "rope")]),
]

LAST = [
    Line("SUM", "L", "I do not need the wind record. Skip two delta, on my order.", rows=[
        step("2", "2d", "skipped"), covered("2", "step", "2d", "skipped by order")]),
    Line("LED", "L", "Rope tension two four point eight kilonewtons.", gap=1.2, rows=[reading("rope tension", "24.8", "kN", "rope")]),
    Line("SUM", "L", "Ledger, say again the tension?", rows=[event("say_again")]),
    Line("LED", "L", "Two four point eight. I think the gauge is sticking.", rows=[
        reading("rope tension", "24.8", "kN", "rope"), ("anomalies", {"what": "tension gauge sticking", "location": "gauge"}), event("anomaly")]),
    Line("SUM", "L", "Card three. Drive, three alpha, main drive off.", gap=1.2, rows=[step("3", "3a", "start")]),
    Line("DRI", "L", "Main drive is off. Three alpha complete. / Starting three bravo, the auxiliary drive.", gap=1.6, rows=[
        step("3", "3a", "complete"), step("3", "3b", "start"), state("main drive", "off", "main drive")]),
    Line("PYL", "V", "Summit, Pylon. Wind is eleven metres per second now.", gap=1.2, rows=[
        reading("wind speed", "11", "m/s"),
        ("exceedances", {"parameter": "wind speed", "value": "11", "unit": "m/s", "limit": "10", "bound": "max"})]),
    Line("SUM", "LC", "Then three charlie is called off. We keep the stretcher inside.", rows=[
        covered("3", "step", "3c", "called off"), ("decisions", {"what": "three charlie called off, stretcher stays inside"})]),
    Line("LED", "L", "*Limit, sixty seconds since the stop.", at=664.0, rows=[
        clock("stop clock", offset_s=60, verdict="late"), ("times", {"kind": "elapsed", "seconds": 60, "text": "sixty seconds since the stop"})]),
    Line("DRI", "L", "The auxiliary drive is running. Three bravo complete.", gap=2.0, rows=[
        step("3", "3b", "complete"), state("auxiliary drive", "running", "auxiliary drive")]),
    Line("SUM", "C", "Your jolt when it started, zero to ten?", gap=1.2),
    Line("WAR", "C", "Jolt, five. / It pulled me off the handle.", rows=[
        rating("jolt", "5", "ten-point", "Warden", "3"),
        ("remarks", {"about": "jolt", "text": "it pulled me off the handle", "subject": "Warden"})]),
    Line("MED", "C", "No number for the jolt, I was looking at the patient. / My seat from card one is a three.", rows=[
        covered("3", "rating", "jolt", "declined", "Medic"), rating("seat", "3", "five-point", "Medic", "1")]),
    Line("SUM", "V", "Base, please send the ladder crew up to the platform.", gap=1.2, rows=[
        ("open_items", {"what": "send the ladder crew to the platform", "owner": "Base", "closed_s": "@ladder"}), event("open_item")]),
    Line("BAS", "V", "Will do, Summit."),
    Line("HER", "V", "You have just seen the small engine take over. The cabin will be back at the platform in one minute.", gap=1.5),
    Line("BAS", "V", "Summit, Base. The ladder crew is on the platform.", gap=1.5, key="ladder"),
    Line("WAR", "C", "Cabin is at the platform, doors are open.", gap=2.0, rows=[state("doors", "open", "doors")]),
    Line("SUM", "L", "Ledger, reset the door clock to zero.", rows=[turn_of_clock("door clock", "reset", 0)]),
    Line("LED", "L", "Door clock is reset."),
    Line("SUM", "LCV", "Thank you all. That is the end of the trial.", gap=1.5),
]
LINES = [*FIRST, *POLL, *RUN, *LAST]
NEVER_SAID: list[Row] = [
    covered("1", "step", "1d", "not asked"), covered("2", "readout", "battery voltage", "not asked", "cabin"),
    covered("3", "rating", "hand rail", "not asked", "Warden"),
]
