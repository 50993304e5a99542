"""How far a delivery and its files have come: in words, and as the share of the walk round the car that is inked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.car.recordings import Kind
from shutline.web.deliveries import in_words
from shutline.web.wording import moment

if TYPE_CHECKING:
    from shutline.usecases.add import AddedItem
    from shutline.web.deliveries import Delivery, SentFile

_DOING = {
    "copying": "keeping the original",
    "words": "hearing the words",
    "remarks": "reading the remarks",
    "stills": "choosing stills",
    "figures": "reading figures",
    "engine": "listening for the engine",
}
_STANDS = {
    "waiting": "Sent; waits for its turn",
    "asking": "Sent; waits until you say of which car it is",
    "stopped": "Stopped on the way; what is done is kept",
}
# Where on the work on one recording each stage begins and ends, as shares; hearing takes most of it.
_SPANS = {
    "copying": (0.0, 0.05),
    "words": (0.05, 0.65),
    "remarks": (0.65, 0.7),
    "stills": (0.7, 0.75),
    "figures": (0.75, 0.95),
    "engine": (0.95, 1.0),
}
# Sending is one half of the way, the work the other.
_SENT_HALF = 0.5
# A recording weighs as much as so many pictures, and more the longer it is.
_RECORDING_WEIGHS = 5.0
_WEIGHS_A_SECOND = 0.1


def walked(delivery: Delivery) -> float:
    """Give how far a delivery has come, 0 to 1: while it is sent the first half, while it is worked on the second."""
    if delivery.state == "done":
        return 1.0
    if delivery.state == "arriving":
        whole = sum(file.byte_size for file in delivery.files if file.problem is None)
        here = sum(file.received for file in delivery.files if file.problem is None)
        return _SENT_HALF * here / max(1, whole)
    weights = [_weight(file) for file in delivery.files]
    done = sum(
        weight * _worked(file, delivery, place)
        for place, (file, weight) in enumerate(zip(delivery.files, weights, strict=True))
    )
    return _SENT_HALF + (1 - _SENT_HALF) * done / sum(weights)


def standing(file: SentFile, delivery: Delivery, place: int) -> str:
    """Say how a file stands, in a line; nothing where a problem says it."""
    if file.problem is not None:
        return ""
    if file.words_of is not None and file.settled():
        return f"the words of {delivery.files[file.words_of].name}"
    if file.item is not None:
        return _came(file, file.item)
    if delivery.now is not None and delivery.now.file == place:
        return f"{_DOING.get(delivery.now.stage, 'at work')}, {delivery.now.done * 100:.0f} %"
    if not file.settled():
        return f"{in_words(file.received)} of {in_words(file.byte_size)}" if file.received else in_words(file.byte_size)
    return ", ".join(part for part in (str(file.kind or ""), moment(file.length_s)) if part) or "to be read"


def tally(delivery: Delivery) -> str:
    """Say how a delivery stands, in a line."""
    if delivery.note is not None:
        return _heard(delivery)
    count = len(delivery.files)
    bad = sum(file.problem is not None for file in delivery.files)
    if delivery.state == "arriving":
        here = sum(file.received for file in delivery.files if file.problem is None)
        whole = sum(file.byte_size for file in delivery.files if file.problem is None)
        return f"{in_words(here)} of {in_words(whole)} sent"
    if delivery.state in _STANDS:
        return _STANDS[delivery.state]
    if delivery.state == "working":
        done = sum(not file.to_do() for file in delivery.files)
        return f"{done} of {_count(count, 'file')} done" if count > 1 else "Being read"
    if bad == count:
        return "Nothing could be brought in"
    return f"{count - bad} of {_count(count, 'file')} brought in" if bad else f"{_count(count, 'file')} brought in"


def _heard(delivery: Delivery) -> str:
    """Say how far a spoken note is heard, or the picture of a note read."""
    file = delivery.files[0]
    if file.picture is not None:
        return _read(delivery, file)
    if file.item is not None:
        return f"Heard: {_count(file.item.words, 'word')}, {_count(file.item.findings, 'finding')}"
    if delivery.state == "working":
        return f"Being heard, {delivery.now.done * 100:.0f} %" if delivery.now else "Being heard"
    return "Waits to be heard" if delivery.state == "waiting" else "Stopped on the way; what is done is kept"


def _read(delivery: Delivery, file: SentFile) -> str:
    if file.problem is not None or file.item is not None:
        return "Its picture was read" if file.problem is None else "Its picture could not be read"
    if delivery.state == "working":
        return "Its picture is being read for figures"
    return "Its picture waits to be read for figures" if delivery.state == "waiting" else "Stopped before it was read"


def _weight(file: SentFile) -> float:
    if file.kind is Kind.PICTURE or file.words_of is not None or file.problem is not None:
        return 1.0
    return max(_RECORDING_WEIGHS, (file.length_s or 0.0) * _WEIGHS_A_SECOND)


def _worked(file: SentFile, delivery: Delivery, place: int) -> float:
    if not file.to_do():
        return 1.0
    if delivery.now is None or delivery.now.file != place:
        return 0.0
    first, last = _SPANS.get(delivery.now.stage, (0.0, 0.0))
    return first + (last - first) * delivery.now.done


def _came(file: SentFile, item: AddedItem) -> str:
    said = [moment(item.length_s)] if item.length_s else []
    if item.kind is Kind.PICTURE:
        said.append("picture")
    else:
        said += [_count(item.words, "word"), _count(item.findings, "finding")]
    if item.figures:
        said.append(f"{_count(item.figures, 'figure')} read off it")
    if item.engine:
        said.append("an engine heard")
    if not item.new and file.recording is None:
        said.append("was here already")
    return ", ".join(said)


def _count(count: int, name: str) -> str:
    return f"{count:,} {name}{'' if count == 1 else 's'}"
