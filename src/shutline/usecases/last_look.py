"""The last look at files before they go to a stranger: none is let out in which private words still stand."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.capture.told_inside import film_words, pdf_words, picture_words
from shutline.car.errors import Problem, UserError
from shutline.car.going_out import PrivateKind

if TYPE_CHECKING:
    from shutline.store import Store

# How much of a text is shown on either side of private words, letters.
_AROUND = 40
_PLACES = {
    ".html": "the page",
    ".vtt": "the captions of the film",
    ".pdf": "what goes out on paper",
    ".mp4": "the tags of the film",
    ".jpg": "the tags of a picture",
}
# The same for every car, and ours.
_STILL = re.compile(r"(?:.*/)?(?:page\.css|page\.js|icon\.svg|type/[^/]+)")
# Values of a page's tags that somebody reads or hears; the rest is names of ours and figures of drawings.
_SPOKEN = frozenset(
    {"alt", "aria-description", "aria-label", "content", "label", "placeholder", "summary", "title", "value"}
)
_THOUSANDS = re.compile(r"(?<=\d),(?=\d{3})")
_LIKE = str.maketrans({"\N{RIGHT SINGLE QUOTATION MARK}": "'"})


def check_left(store: Store, car: str, files: Mapping[str, bytes | Path]) -> None:
    """Refuse to let files out that hold private words after all, wherever they came from.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its whole name.
    files : mapping
        All that goes, by name. Read are pages with what stands in their tags, captions, data, PDFs with their titles
        and what stands for their pictures, and the tags of pictures and films. What pictures and films show, and what
        is said in films, is looked after by what makes them.

    Raises
    ------
    UserError
        Words that were kept as private stand in one (slug ``private-left``).
    """
    there = store.private_words(car)
    kept = [one.words for one in there if one.ended_at is None and one.kind is not PrivateKind.NO_NAME]
    if not kept:
        return
    for name, data in files.items():
        text = _plain(words_in(name, data))
        for words in kept:
            found = re.search(rf"(?<!\w){re.escape(_plain(words))}(?!\w)", text)
            if found is not None:
                raise UserError(_left(car, name, words, _around(text, *found.span())))


def words_in(name: str, data: bytes | Path) -> str:
    """Give all words of a file, by what its name says it is; nothing of what is the same for every car."""
    if _STILL.fullmatch(name):
        return ""
    ending = Path(name).suffix
    if ending == ".mp4" and isinstance(data, Path):
        return film_words(data)
    held = data if isinstance(data, bytes) else data.read_bytes()
    if ending == ".pdf":
        return pdf_words(held)
    if ending == ".jpg":
        return picture_words(held)
    text = held.decode("utf-8", "replace")
    if ending == ".html":
        return _Told.of(text)
    return "\n".join(_strings(json.loads(text))) if ending == ".json" else text


class _Told(HTMLParser):
    """What a page tells: its text, and those of its tags' values that are read out or shown."""

    def __init__(self) -> None:
        super().__init__()
        self._text: list[str] = []
        self._tags: list[str] = []

    @classmethod
    def of(cls, text: str) -> str:
        """Give it: the text read on over its tags, as 'Augusta <b>Harbottle</b>' is, and then their values."""
        told = cls()
        told.feed(text)
        told.close()
        return " ".join([*told._text, *told._tags])

    def handle_data(self, data: str) -> None:
        self._text.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del tag
        self._tags += [value for name, value in attrs if value and (name in _SPOKEN or _is_address(name, value))]


def _is_address(name: str, value: str) -> bool:
    return name == "href" and value.partition(":")[0] in {"mailto", "tel", "sms"}


def _strings(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _strings(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _strings(inner)


def _plain(text: str) -> str:
    """Give a text in which writing makes no difference: small letters, ligatures undone, sums without their commas."""
    even = unicodedata.normalize("NFKC", text).translate(_LIKE)
    even = "".join(sign for sign in even if unicodedata.category(sign) != "Cf")
    return _THOUSANDS.sub("", " ".join(even.casefold().split()))


def _around(text: str, start: int, end: int) -> str:
    """Give the words that stand around some."""
    before, behind = text[max(0, start - _AROUND) : start], text[end : end + _AROUND]
    before = before if start <= _AROUND else f"… {before.partition(' ')[2]}"
    behind = behind if len(text) <= end + _AROUND else f"{behind.rpartition(' ')[0]} …"
    return f"{before}{text[start:end]}{behind}"


def _left(car: str, name: str, words: str, around: str) -> Problem:
    place = _PLACES.get(Path(name).suffix, "it")
    return Problem(
        slug="private-left",
        where=f"{car}, {name}",
        found=f"'{words}', which was said to be private, still stands in {place}: '{around}'",
        allowed="a page without it; nothing was written",
        advice="If it stands there by the details of the house, change them in the settings. "
        "If it is a word that any text may have, take it back and keep a longer name in its place.",
    )
