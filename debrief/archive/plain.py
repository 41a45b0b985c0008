"""Words in their plain form: lower case, no punctuation, one space between them. Names and field texts are compared in it."""
import re

_WORD = re.compile(r"[^\W_]+(?:\.\d+)?")


def plain(text: str) -> str:
    """'NO-GO' -> 'no go', 'Cabin Pressure' -> 'cabin pressure', '3.5' stays."""
    return " ".join(_WORD.findall(text.casefold()))


def squeezed(text: str) -> str:
    """The plain form without spaces, so that 'no go', 'no-go' and 'nogo' are one."""
    return plain(text).replace(" ", "")
