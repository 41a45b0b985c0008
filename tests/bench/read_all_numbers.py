"""Every number from 0 to 999 999 in every spoken style, and every time of a day: does it read back? Run by hand; prints what does not.

    python tests/bench/read_all_numbers.py [--step N] [--style NAME]

Reads back: the value is among the readings kept. num2words 0.5 writes the cardinals; the other styles are written here, after the
rules of radio speech (ICAO Annex 10 vol. II 5.2.1.4, FAA AIM 4-2) and common practice.
"""
import argparse
import time
from collections.abc import Callable, Iterator

from num2words import num2words

from debrief.wording.spoken_numbers import read_numbers
from debrief.wording.spoken_times import read_times

DIGITS = [num2words(n) for n in range(10)]


def digit_by_digit(n: int) -> str:
    return " ".join(DIGITS[int(digit)] for digit in str(n))


def with_oh(n: int) -> str:
    return digit_by_digit(n).replace("zero", "oh") if n >= 10 else digit_by_digit(n)


def plain(n: int) -> str:
    return num2words(n).replace(",", "")


def american(n: int) -> str:
    return plain(n).replace(" and ", " ")


def spaced(n: int) -> str:
    return american(n).replace("-", " ")


def thousands_by_digit(n: int) -> str:
    """13 500 'one three thousand five hundred', as pilots say altitudes; other remainders as words."""
    if n < 1000:
        return plain(n)
    head, rest = divmod(n, 1000)
    tail = plain(rest) if rest % 100 == 0 or rest > 100 else f"and {plain(rest)}"
    return f"{digit_by_digit(head)} thousand {tail if rest else ''}".strip()


def hundreds(n: int) -> str:
    """'thirty-five hundred', 'twelve hundred and six'."""
    head, rest = divmod(n, 100)
    if not 11 <= head <= 99 or head % 10 == 0:
        return plain(n)
    return f"{num2words(head)} hundred {'and ' + plain(rest) if rest else ''}".strip()


def in_groups(n: int) -> str:
    """'two fifty', 'one oh six', 'twenty-nine fifty', 'nineteen oh five': groups of at most two digits."""
    text = str(n)
    if len(text) < 3:
        return plain(n)
    head, tail = text[:-2], text[-2:]
    last = "hundred" if tail == "00" else f"oh {DIGITS[int(tail[1])]}" if tail[0] == "0" else num2words(int(tail))
    return f"{num2words(int(head)) if len(head) < 3 else digit_by_digit(int(head))} {last}"


STYLES: dict[str, Callable[[int], str]] = {
    "digits": digit_by_digit, "oh": with_oh, "written": num2words, "plain": plain, "american": american, "spaced": spaced,
    "thousands by digit": thousands_by_digit, "hundreds": hundreds, "groups": in_groups, "figures": str, "commas": lambda n: f"{n:,}",
    "figures apart": lambda n: " ".join(str(n)), "triple": lambda n: digit_by_digit(n).replace("zero zero zero", "triple zero"),
}


def reads_back(n: int, said: str) -> bool:
    found = read_numbers(said.split())
    return len(found) == 1 and n in (found[0].value, *found[0].others)


def failures(style: str, step: int) -> Iterator[tuple[int, str]]:
    write = STYLES[style]
    return ((n, said) for n in range(0, 1_000_000, step) if not reads_back(n, said := write(n)))


def time_failures(step: int) -> Iterator[str]:
    """Every second of a day in four forms."""
    for second in range(0, 86_400, step):
        hours, minutes, seconds = second // 3600, second // 60 % 60, second % 60
        get = f"{hours:02d}:{minutes:02d}:{seconds:02d}"
        forms = [f"at {get}", f"at {hours:02d} plus {minutes:02d} plus {seconds:02d}", f"is {hours:02d} {minutes:02d} {seconds:02d}."]
        if not seconds:
            forms.append(f"{' '.join(digit_by_digit(int(d)) for d in f'{hours:02d}{minutes:02d}')} zulu")
        for said in forms:
            words = said.split()
            times = read_times(words, read_numbers(words))
            if [time.get for time in times] != [get]:
                yield said


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--step", type=int, default=1)
    options.add_argument("--style", choices=[*STYLES, "times"])
    given = options.parse_args()
    for style in [given.style] if given.style else [*STYLES, "times"]:
        begin = time.perf_counter()
        lost = list(time_failures(given.step) if style == "times" else failures(style, given.step))
        print(f"{style}: {len(lost)} do not read back, {time.perf_counter() - begin:.0f} s", *lost[:5], sep="\n    ")


if __name__ == "__main__":
    main()
