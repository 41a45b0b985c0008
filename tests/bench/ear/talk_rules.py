"""What people say on the loops of a crewed test, as templates: [slot] is filled by talk_text.py or by one of RULES, a part in {braces} may be left out.

Common practice, no source. The kinds of KINDS are weighted by how much the tool reads from them: figures first.
"""

RULES = {
    "opening": [
        "[to], [me].", "[to], [me], [say].", "[to] from [me].", "[to], this is [me].", "[me].", "[me] here.", "[to], {uh,} [me].",
        "[me] to [to].", "Break, break. [to], [me].",
    ],
    "say": [
        "go ahead", "radio check", "how do you read", "I have a reading for you", "request", "status check", "message", "are you there",
    ],
    "ack": [
        "roger", "copy", "copied", "wilco", "affirm", "negative", "okay", "thank you", "understood", "loud and clear", "stand by",
        "say again", "go ahead", "yes", "no", "check", "got it", "that's correct", "read you five by five", "disregard", "working",
        "wait one", "in work", "all right", "affirmative", "acknowledged", "standing by", "ready", "done", "complete", "Roger that",
        "copy that", "copy all", "good copy", "set", "clear",
    ],
    "hedge": [
        "about", "around", "roughly", "just under", "just over", "call it", "reading", "approximately", "maybe", "at", "now", "steady at",
        "showing", "a shade over", "close to", "coming through", "passing", "up to", "down to", "peaked at", "still",
    ],
    "tail": [
        "and holding", "and rising", "and falling", "and steady", "over", "as expected", "on the card", "in the green", "same as before",
        "that's up [small]", "that's down [small]", "how copy", "at my mark", "no change", "I think", "within limits", "which is low",
        "which is high",
    ],
    "readout": [
        "[quantity] [value].", "[quantity] [value], [quantity] [value].", "[quantity] is [value].", "[quantity], [value], [tail].",
        "[quantity] [hedge] [value].", "[quantity] [value], [quantity] [value], [quantity] [value].", "I have [value] on the [quantity].",
        "I'm reading [value] {on [quantity]}.", "[value] on [quantity].", "[quantity] went from [number] to [value].",
        "We see [quantity] at [value].", "Now [value].", "[value].", "[value], [tail].", "[quantity], uh, [value].",
        "[quantity] between [number] and [value].", "[quantity] [value] at [clock].", "[place] [value], [place] [value].",
        "Limit is [value], we are at [number].", "[quantity] [number] over [number].", "[quantity] [value], correction, [value].",
        "[quantity] [value], I say again, [value].", "[quantity] reads [number], no, make that [value].",
        "[quantity] [value] and [state].", "Readings: [quantity] [number], [quantity] [number], [quantity] [number].", "[number].",
        "[number], [number], [number].", "Passing [value].", "[quantity] [number] on the left and [number] on the right.",
        "It says [value] here.", "Last was [number], now [number].", "Average [number], peak [number].", "That makes [value].",
        "Down [number], up [number].",
    ],
    "rating": [
        "[axis] is a [score].", "[axis] [score], [axis] [score].", "That's a [score].", "I'd give it a [score] {for [axis]}.",
        "[axis], [score] out of [top].", "Call it a [score] out of [top].", "[score], maybe a [score].", "[scores] for [axis] both ways.",
        "[axis] [score], [axis] [score], [axis] [score].", "[axis] a [score], and [axis] a [score], mostly for the [part].",
        "Somewhere between a [score] and a [score].", "I'd say [score] on that one.", "Overall a [score].", "[scores] across the board.",
        "[axis] was better this time, so [score].", "Same as last time, [score].", "[axis], that was a [score], no, a [score].",
        "Rating for [axis], [score].", "No rating for [axis].", "[score] and a half for [axis].", "Worse than before, [score] of [top].",
    ],
    "poll": [
        "[to].", "[to], go or no go?", "[me] is go.", "Go.", "No go.", "[me], go.", "[me] no go, [quantity] [value].",
        "[me], no go, the [part] is [state].", "We are go for [task].", "Stand by.", "[me] is ready.", "Hold, [me].",
        "Go, with one comment.", "All stations, poll for [task].", "[to]? Go. [to]? Go.", "Give me a go or no go for [task].",
        "Go at this time.", "[me] is no go at this time, I need [clock].", "[me], go with [quantity] at [value].", "Everyone is go.",
        "Negative, hold the count.", "[me], ready in [clock].", "[to] says go.",
    ],
    "readback": [
        "Read back [quantity] [value].", "[quantity] [value], [me].", "Copy [value].", "[value], [me], {wilco}.",
        "Understand [value]{, correct}?", "Readback correct.", "Negative, [value], I say again [value].",
        "I read [quantity] [value] and [quantity] [value].", "Copy, [quantity] [value], [action].", "Set [value], [me].",
        "Confirm [value].", "Say again the [quantity].", "Say again all after [part].", "That is [number] not [number].",
        "Roger, [number], [number] and [number].", "Copy [clock], [me].", "You were cut out, say again [quantity].",
        "I copied [value], is that right?",
    ],
    "clock": [
        "Mark.", "Three, two, one, mark.", "T minus [clock].", "T minus [clock] and counting.", "T plus [clock].",
        "[event] at plus [clock].", "Plus [small].", "[event] on.", "[event] off at [clock].", "[clock] elapsed.", "[clock] to go.",
        "Time is [timeofday].", "Time check, [timeofday] in [clock].", "On my mark, [clock]. Mark.",
        "[event] in [small], [small2] seconds.", "Five, four, three, two, one, [event].", "Ten seconds.", "Clock is running.",
        "Clock stopped at [clock].", "Holding at T minus [clock].", "[event] at [timeofday].", "Start of run [small], mark.",
        "Coming up on [clock].", "That's [clock] since [event].", "Bottom time [clock].", "Resume the count at minus [clock].",
        "We have [clock] left.", "Next call at [timeofday].", "Minus [clock].", "Hold the clock.", "[clock] and [state].",
    ],
    "step": [
        "Step [stepno].", "Step [stepno] complete.", "Next is step [stepno], [action].", "[stepno] is done.",
        "Skip [stepno], go to [stepno].", "We are on step [stepno].", "Page [small], step [stepno].", "Step [stepno], [part] [state].",
        "Card [small] complete.", "Point [small], [action].", "Begin card [identifier].", "Starting [stepno].",
        "Repeat step [stepno] please.", "Test point [identifier], {ready}.", "Step [stepno] and [stepno] are complete.",
        "That's the end of card [small].", "Run [identifier], second try.", "[action]. That's step [stepno].",
    ],
    "order": [
        "[action].", "[to], [action].", "Please [action].", "When ready, [action].", "[action] and report.",
        "[action] when [quantity] reaches [value].", "Do not [action2].", "After that, [action].", "In [clock], [action].",
        "Could you [action]?", "[to], [me], [action].", "[action], then [action].",
    ],
    "state": [
        "[part] [state].", "The [part] is [state].", "[part] [state], [part] [state].", "Looks like the [part] is [state].",
        "[part] is [state], [quantity] [value].", "I see the [part], it's [state].", "[part] now [state].", "All [things] [state].",
        "[part] confirmed [state].", "[part] and [part] [state].",
    ],
    "trouble": [
        "We have a problem with the [part].", "[quantity] is dropping, [value] now.", "[quantity] alarm, [value].", "Abort, abort.",
        "Stop, stop, stop.", "The [part] is [state], I don't like it.", "I smell something near the [part].",
        "[quantity] out of limits at [value].", "Lost the [part].", "I hear a knocking from the [part].",
        "[quantity] just jumped from [number] to [number].", "There's water at the [part].", "Hold everything.",
        "[part] failed at [timeofday].", "Caution light on the [part].", "That's not right, expected [number] and got [number].",
        "We lost you for [clock].",
    ],
    "question": [
        "What is your [quantity]?", "How much [quantity2] do you have?", "Is the [part] [state]?", "Which [thing] is that?",
        "Do you see the [part]?", "Are you ready for step [stepno]?", "Can I get a [quantity] check?", "Did you say [number] or [number]?",
        "Where is [to]?", "Who has the [part]?", "How do you feel?", "[to], what do you show for [quantity]?", "How long until [event]?",
        "Was that [value]?", "Do you want me to [action2]?",
    ],
    "ident": [
        "Serial [identifier].", "Serial number [letters] [identifier].", "Tag [identifier] {is [state]}.",
        "Valve [letters] [identifier] [state].", "[phonetic] [identifier].", "Switch to [number] decimal [identifier].",
        "Channel [small].", "Spelled [spelled].", "I spell, [spelled].", "Panel [small], row [letter], breaker [small].",
        "Frame [identifier] {to frame [identifier]}.", "Item [letter] [small].", "Grid [phonetic] [identifier].",
        "Bottle [identifier] at [value].", "Code is [identifier].", "Sample [identifier], bag [letter].",
        "Point [phonetic] {[small]}, [state].", "Bearing [identifier], range [value].", "Squawk [identifier].",
        "Position [number] north, [number] east.",
    ],
    "chatter": [
        "That was smoother than the last one.", "I can see the [thing] from here.", "Give me a second, my glove is caught.",
        "It's getting warm in here.", "Sorry, I was on the wrong loop.", "Take your time.", "Nice work, everybody.",
        "I'll write that down as [number].", "The [thing] is behind the [thing].", "We can talk about that later.",
        "Good view of the [part] now.", "It feels a lot like the one we had yesterday.", "Somebody left a [thing] by the [part].",
        "I would rather do it with the [part] [state].", "Okay, moving on.", "Let me try it from the other side.", "I'm happy with that.",
        "Who wants coffee?", "We'll need a new [thing] before the next run.", "The wind is picking up a little.", "My left hand is tired.",
        "That should do it for today.", "[surname] has the list.", "Tell [surname] to bring the [thing].", "Not yet.",
        "I think the [thing] moved.", "Let's not hurry this one.", "It's a bit like pulling a [thing] through a [thing].",
        "Could be the [thing], could be the [part].", "Hang on.", "We did [number] of these last week.", "I make it [number].",
        "[surname], can you look at the [part]?", "The camera is on the [part].", "Light is good.",
    ],
}
KINDS = {"readout": 30, "rating": 11, "poll": 6, "readback": 11, "clock": 11, "step": 6, "order": 4, "state": 4, "trouble": 4, "question": 4, "ident": 9,
         "chatter": 6, "call": 4, "ack": 3}
OPENED = {"readout": 0.35, "rating": 0.2, "poll": 0.1, "readback": 0.25, "clock": 0.2, "step": 0.25, "order": 0.2, "state": 0.35, "trouble": 0.4,
          "question": 0.35, "ident": 0.2, "chatter": 0.12}
CLOSED = 0.1
