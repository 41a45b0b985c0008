"""Characters of other people's text that steer a terminal, hide words or turn their direction: the one list of them."""
import re
from collections.abc import Callable

UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]")


def shown_as(text: str, sign: str | Callable[[re.Match[str]], str] = "\ufffd") -> str:
    """The text with each of these characters shown as a sign that stands for it."""
    return UNSEEN.sub(sign, text)
