"""A draft as text, as Markdown and as a page: the same sentences, with what they stand on where it is asked for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape

from shutline.publish.report.times import moment
from shutline.words.model import Draft, Footed, FootedOn, Sentence

_MARKDOWN = re.compile(r"([\\`*_{}\[\]()#+!|<>~])")
_LINE_START = re.compile(r"^(\d+)([.)])|^([-=])")

_STYLE = """
body { margin: 2rem auto; max-width: 40rem; padding: 0 1rem; font: 1.125rem/1.6 Georgia, serif; color: #23211d;
  background: #faf8f3; }
h1 { font-size: 1.6rem; line-height: 1.25; } h2 { font-size: 1.15rem; margin: 1.8rem 0 0.4rem; }
.told:hover { background: #e6edf3; }
ol.footings { font-size: 0.95rem; } ol.footings span { color: #5b574e; }
@media print { body { background: none; margin: 0; max-width: none; } }
"""


def footing_words(footed: Footed, *, recordings: Mapping[str, int] | None = None) -> str:
    """Say what a sentence stands on, without any word that was said: 'said at 3:21, finding 1f0c'.

    Parameters
    ----------
    recordings : mapping, optional
        From the id of a recording to its number, where the car has several.
    """
    if footed.on is FootedOn.CHECK:
        return f"nothing in the car file speaks to the check {footed.id}"
    if footed.on is FootedOn.HOUSE:
        return f"the house: {footed.id}"
    if footed.on is FootedOn.FILE:
        name, _, what = footed.id.partition(" ")
        if name == "fact":
            return f"the car file holds no {what.replace('_', ' ')}"
        return f"the car file: its {footed.id}"
    kind = "" if footed.kind is None else footed.kind.value
    at = "" if footed.at_s is None else f" at {moment(footed.at_s)}"
    number = (recordings or {}).get(footed.source)
    where = f" in recording {number}" if number is not None and len(recordings or {}) > 1 else ""
    return f"{kind}{at}{where}, {footed.on.value} {footed.id}".lstrip(", ")


def as_text(draft: Draft, *, footings: bool = False, recordings: Mapping[str, int] | None = None) -> str:
    """Give a draft as plain text: a paragraph a line, headings on lines of their own.

    Parameters
    ----------
    footings : bool
        List what each sentence stands on after it all.
    """
    lines = [draft.title.text]
    for paragraph in draft.paragraphs:
        lines += ["", *([paragraph.heading, ""] if paragraph.heading else []), paragraph.text]
    if footings:
        lines += ["", "What each sentence stands on", ""]
        for number, sentence in enumerate((draft.title, *draft.sentences), start=1):
            lines.append(f"{number}. {sentence.text}")
            lines += [f"   {words}" for words in stands_on_words(sentence, recordings)]
    return "\n".join(lines) + "\n"


def as_markdown(draft: Draft, *, footings: bool = False, recordings: Mapping[str, int] | None = None) -> str:
    """Give a draft as Markdown; nothing in it is taken for markup. Footings are footnotes."""
    lines = [f"# {_marked(draft.title.text)}"]
    notes: list[str] = []

    def told(sentence: Sentence) -> str:
        text = _marked(sentence.text)
        if not footings:
            return text
        notes.append("; ".join(stands_on_words(sentence, recordings)))
        return f"{text}[^{len(notes)}]"

    for paragraph in draft.paragraphs:
        heading = [f"## {_marked(paragraph.heading)}", ""] if paragraph.heading else []
        lines += ["", *heading, _LINE_START.sub(_kept_plain, " ".join(told(one) for one in paragraph.sentences))]
    lines += ["", *(f"[^{number}]: {_marked(note)}" for number, note in enumerate(notes, start=1))] if notes else []
    return "\n".join(lines) + "\n"


def as_html(draft: Draft, *, footings: bool = False, recordings: Mapping[str, int] | None = None) -> str:
    """Give a draft as one page without script or any request; what a sentence stands on is shown over it.

    `footings` lists it below, too.
    """
    told = [
        '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        f"<title>{escape(draft.title.text)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>",
        f"<h1>{_spanned(draft.title, recordings)}</h1>",
    ]
    for paragraph in draft.paragraphs:
        if paragraph.heading:
            told.append(f"<h2>{escape(paragraph.heading)}</h2>")
        told.append(f"<p>{' '.join(_spanned(one, recordings) for one in paragraph.sentences)}</p>")
    if footings:
        told.append('<h2>What each sentence stands on</h2>\n<ol class="footings">')
        for sentence in (draft.title, *draft.sentences):
            stands = escape("; ".join(stands_on_words(sentence, recordings)))
            told.append(f"<li>{escape(sentence.text)} <span>{stands}</span></li>")
        told.append("</ol>")
    told.append("</main>\n</body>\n</html>\n")
    return "\n".join(told)


def _spanned(sentence: Sentence, recordings: Mapping[str, int] | None) -> str:
    stands = escape("; ".join(stands_on_words(sentence, recordings)), quote=True)
    return f'<span class="told" title="{stands}">{escape(sentence.text)}</span>'


def stands_on_words(sentence: Sentence, recordings: Mapping[str, int] | None = None) -> list[str]:
    """Say what a sentence stands on, each once, and checks that nothing speaks to together."""
    checks = [one.id for one in sentence.stands_on if one.on is FootedOn.CHECK]
    others = [one for one in sentence.stands_on if one.on is not FootedOn.CHECK]
    words = [footing_words(one, recordings=recordings) for one in others]
    if len(checks) > 1:
        words.append(f"nothing in the car file speaks to the checks {', '.join(dict.fromkeys(checks))}")
    elif checks:
        words.append(footing_words(Footed(FootedOn.CHECK, checks[0])))
    return list(dict.fromkeys(words))


def _marked(text: str) -> str:
    return _MARKDOWN.sub(r"\\\1", text)


def _kept_plain(found: re.Match[str]) -> str:
    """Keep a line that begins with '1.' or '-' from being a list."""
    return f"{found[1]}\\{found[2]}" if found[1] else f"\\{found[3]}"
