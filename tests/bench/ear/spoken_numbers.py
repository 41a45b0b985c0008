"""Numbers as people say them on voice loops, in words only: digit by digit, in pairs, in hundreds, with decimals, signs, doubles and slips."""
from random import Random

ONES = "zero one two three four five six seven eight nine".split()
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()
FRACTIONS = ("and a half", "and a quarter", "and three quarters")
ORDINALS = "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth".split()


def below_hundred(value: int) -> str:
    if value < 10:
        return ONES[value]
    if value < 20:
        return TEENS[value - 10]
    return TENS[value // 10] + ("-" + ONES[value % 10] if value % 10 else "")


def cardinal(value: int, rng: Random) -> str:
    """0 to 999 999 as a count: 'two hundred and fifteen', 'one thousand four hundred'."""
    if value >= 1000:
        rest = value % 1000
        joined = " and " if 0 < rest < 100 and rng.random() < 0.5 else " "
        return cardinal(value // 1000, rng) + " thousand" + (joined + cardinal(rest, rng) if rest else "")
    if value >= 100:
        joined = " and " if rng.random() < 0.5 else " "
        head = "a" if value // 100 == 1 and rng.random() < 0.25 else ONES[value // 100]
        return head + " hundred" + (joined + below_hundred(value % 100) if value % 100 else "")
    return below_hundred(value)


def digits(figures: str, rng: Random) -> str:
    """Each figure by itself; one speaker's habits (niner, oh, doubles) hold for the whole number."""
    nine = "niner" if rng.random() < 0.25 else "nine"
    zero = "oh" if len(figures) > 1 and rng.random() < 0.15 else "zero"
    words, at, doubles = [], 0, rng.random() < 0.12
    while at < len(figures):
        run = len(figures[at:]) - len(figures[at:].lstrip(figures[at]))
        word = zero if figures[at] == "0" else nine if figures[at] == "9" else ONES[int(figures[at])]
        if doubles and run in {2, 3}:
            words.append(("double " if run == 2 else "triple ") + word)
            at += run
        else:
            words.append(word)
            at += 1
    return " ".join(words)


def in_pairs(value: int, rng: Random) -> str:
    """'two fifteen', 'twelve thirty-four', 'nine oh five'; whole hundreds as 'twelve hundred'."""
    head, tail = divmod(value, 100)
    if not tail:
        return below_hundred(head) + " hundred"
    return below_hundred(head) + " " + (rng.choice(("oh ", "zero ")) if tail < 10 else "") + below_hundred(tail)


def by_radio_rule(value: int, rng: Random) -> str:
    """Whole thousands and hundreds are said as such, the rest figure by figure: 'one two thousand five hundred'."""
    if value % 100 or not value:
        return digits(str(value), rng)
    thousands, hundreds = divmod(value, 1000)
    said = [digits(str(thousands), rng) + " thousand"] if thousands else []
    said += [digits(str(hundreds // 100), rng) + " hundred"] if hundreds else []
    return " ".join(said)


def whole(value: int, rng: Random) -> str:
    """A whole number from 0 to 99 999 in one of the ways that fit it."""
    way = rng.random()
    if value >= 1000 and value % 100 == 0 and way < 0.5:
        return by_radio_rule(value, rng)
    if 100 <= value < 10_000 and way < 0.25:
        return in_pairs(value, rng)
    if value < 100:
        return below_hundred(value) if way < 0.62 else digits(str(value), rng)
    return cardinal(value, rng) if way < 0.5 else digits(str(value), rng)


def decimal(value: float, places: int, rng: Random) -> str:
    """A number with decimals; the part after the mark figure by figure, or two figures as one ('four point twenty-five')."""
    whole_part, tail = f"{value:.{places}f}".split(".")
    mark = "decimal" if rng.random() < 0.22 else "point"
    if rng.random() < 0.06 and tail in {"5", "50", "25", "75"} and int(whole_part):
        return whole(int(whole_part), rng) + " " + FRACTIONS[{"5": 0, "50": 0, "25": 1, "75": 2}[tail]]
    said = below_hundred(int(tail)) if places == 2 and tail[0] != "0" and rng.random() < 0.25 else digits(tail, rng)
    if whole_part == "0" and rng.random() < 0.4:
        return f"{mark} {said}"
    return f"{whole(int(whole_part), rng)} {mark} {said}"


def any_value(rng: Random) -> float:
    """Values spread over sizes, so that every figure stands at every place."""
    size = rng.choices((1, 2, 3, 4, 5), (14, 30, 32, 16, 8))[0]
    value = rng.randrange(10 ** (size - 1) if size > 1 else 0, 10**size)
    if size > 2 and rng.random() < 0.4:
        value = value // 10 * 10 if size == 3 else value // 100 * 100
    return float(value)


def any_number(rng: Random) -> str:
    """One number, whole or with decimals, with a sign now and then."""
    if rng.random() < 0.33:
        places = rng.choices((1, 2, 3), (70, 24, 6))[0]
        said = decimal(rng.randrange(0, 10 ** (places + rng.choice((1, 1, 2, 3)))) / 10**places, places, rng)
    else:
        said = whole(int(any_value(rng)), rng)
    sign = rng.random()
    return ("minus " if sign < 0.07 else "plus " if sign < 0.11 else "") + said


def identifier(rng: Random) -> str:
    """A number that names a thing: always figure by figure, leading zeros and all."""
    return digits("".join(rng.choice("0123456789") for _ in range(rng.choice((2, 3, 3, 3, 4, 4, 5)))), rng)


def clock(rng: Random) -> str:
    """A span of time or a count: 'two minutes', 'one minute thirty', 'four five seconds', 'plus three thirty'."""
    minutes, seconds = rng.randrange(1, 100), rng.choice((rng.randrange(1, 60), rng.choice((10, 15, 20, 30, 45))))
    way = rng.randrange(8)
    if way < 2:
        return f"{below_hundred(minutes)} minute{'s' if minutes > 1 else ''}"
    if way == 2:
        return f"{whole(seconds, rng)} second{'s' if seconds > 1 else ''}"
    if way == 3:
        return f"{below_hundred(minutes % 20 + 1)} minute{'s' if minutes % 20 else ''} {rng.choice(('', 'and '))}{below_hundred(seconds)} seconds"
    if way == 4:
        return f"{below_hundred(minutes)} {'oh ' if seconds < 10 else ''}{below_hundred(seconds)}"
    if way == 5:
        return digits(f"{minutes:02}{seconds:02}", rng)
    if way == 6:
        return f"{below_hundred(minutes % 12 + 1)} hour{'s' if minutes % 12 else ''} {below_hundred(seconds)}"
    return below_hundred(minutes)


def time_of_day(rng: Random) -> str:
    hour, minute = rng.randrange(24), rng.randrange(60)
    if rng.random() < 0.5:
        return digits(f"{hour:02}{minute:02}", rng)
    return f"{below_hundred(hour or 12)} {'oh ' if minute < 10 else ''}{below_hundred(minute) if minute else 'hundred'}".replace("oh hundred", "hundred")
