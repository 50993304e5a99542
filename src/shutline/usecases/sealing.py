"""Seal a car file as it is now: packed, signed, and kept that it was done."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.errors import Problem, UserError
from shutline.car.going_out import Edition, Occasion, SealedFile
from shutline.car.version import VERSION
from shutline.sealed import Payload, ask_stamp, own_key, pack
from shutline.usecases.buyer_choice import buyer_choice_shown
from shutline.usecases.buyers_page import make_buyers_page, public_report
from shutline.usecases.house import house, no_house
from shutline.usecases.last_look import check_left
from shutline.usecases.look import find_car
from shutline.usecases.private import facts_left_out, private_for
from shutline.usecases.progress import Stop, Tell, silent, watched
from shutline.usecases.published_films import film_path
from shutline.usecases.report import make_report, write_whole
from shutline.usecases.seal_keys import key_is_locked
from shutline.usecases.settings import author as present_author
from shutline.usecases.settings import settings_file
from shutline.usecases.zipped import write_zip

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFinding
    from shutline.car.recordings import Original
    from shutline.publish.private import Private
    from shutline.store import Store

FORMAT = "shutline sealed file"
FORMAT_VERSION = "1"

_ENDING = re.compile(r"\.[A-Za-z0-9]{1,8}")
Sheet = Callable[[str, str], bytes]

_NOT_FOR_BUYER = ("the check of the claims in the words it is offered with",)


@dataclass(frozen=True, slots=True)
class SealMade:
    """A sealed file as it was made, with the zip of it and the handover sheet where they were made.

    `left_out` says what could be in it and is not.
    """

    car: str
    title: str
    sealed: SealedFile
    zipped: str | None
    sheet: str | None
    left_out: tuple[str, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class SealedShown:
    """The sealed files of a car, the newest first.

    `locked` tells that the key to sign with is under a pass phrase, `stamp` the address of the service that stamps what
    the workbench seals, "" for none.
    """

    car: str
    title: str
    sealed: tuple[SealedFile, ...]
    locked: bool = False
    stamp: str = ""


def sealed_files(store: Store, car: str) -> SealedShown:
    """Give what was sealed of a car.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    there = store.find_car("-".join(car.split()))
    kept = store.sealed_files(there.name)
    return SealedShown(there.name, there.title, kept, key_is_locked(), buyer_choice_shown().chosen.stamp)


def seal(
    store: Store,
    name: str,
    *,
    occasion: Occasion,
    edition: Edition = Edition.FIRM,
    originals: bool = False,
    out: Path | None = None,
    zipped: bool = False,
    stamp: str | None = None,
    phrase: str = "",
    author: str | None = None,
    made_at: datetime | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> SealMade:
    """Seal the car file as it is now: pack it, sign it, and keep that it was done.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    occasion : Occasion
        Why: it is offered, or sold. With a sale a handover sheet is written beside it.
    edition : Edition
        For the firm with all that is kept, or for the buyer with what the buyer's page shows.
    originals : bool
        Pack the recordings, pictures and papers as they came in; else their hashes alone. Only for the firm.
    out : Path, optional
        Folder that the sealed file is written into; ``out/NAME`` in the present folder when left out.
    zipped : bool
        Write one zip of it beside it.
    stamp : str, optional
        Address of a time-stamp service (RFC 3161); none is asked when left out.
    phrase : str
        The pass phrase of the key, if it is under one.
    author : str, optional
        Who seals; the name the user is logged in with when left out.
    made_at : datetime, optional
        The moment it speaks of; now when left out.
    tell, stop
        As for `add`.

    Raises
    ------
    NotFoundError, UserError
        No such car; originals were to go to a buyer (slug ``seal-originals``); private words would have gone to one
        (``private-left``); something lies there (``seal-there``);
        the key is under another pass phrase (``seal-key-locked``) or gone (``seal-key-gone``).
    BrokenWorldError
        It cannot be written, an original is gone, or no stamp could be had; nothing was sealed.
    StoppedError
        `stop` was set.
    """
    stop = stop or Stop()
    if originals and edition is Edition.BUYER:
        raise _no_originals()
    car = find_car(store, name)
    moment = (made_at or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    who = author or present_author()
    key = own_key(settings_file().parent, phrase=phrase)
    before = store.sealed_files(car.name)
    former = next(iter(before), None)
    folder = (out or Path("out") / car.name) / f"sealed-{occasion.value}-{edition.value}-{moment:%Y%m%dT%H%M%SZ}"
    private = private_for(store, car)
    left_out = () if edition is Edition.FIRM else _NOT_FOR_BUYER
    set_sheet = _sheet(store, car, edition=edition, moment=moment) if occasion is Occasion.SOLD else None
    with tempfile.TemporaryDirectory(prefix="shutline-seal-") as aside:
        if edition is Edition.FIRM:
            payload, problems = _for_firm(store, car, Path(aside), moment, originals=originals, tell=tell, stop=stop)
        else:
            payload, problems = _for_buyer(store, car, Path(aside), moment, private, tell=tell, stop=stop)
        title = car.title if edition is Edition.FIRM else private.titled(car.title)
        packed = pack(
            folder,
            payload,
            statement={
                "format": FORMAT,
                "format_version": FORMAT_VERSION,
                "car": car.name if edition is Edition.FIRM else "car",
                "title": title,
                "occasion": occasion.value,
                "edition": edition.value,
                "sealed_at": _at(moment),
                "sealed_by": who if edition is Edition.FIRM else house().name,
                "originals": "inside" if originals else "hashes",
                "former": _former(former),
                "former_alike": _former(next((one for one in before if one.edition is edition), None)),
                "left_out": list(left_out),
                "program": f"shutline {VERSION}",
            },
            info=_info(title, moment, occasion, former),
            key=key,
            stamp=None if stamp is None else lambda data: ask_stamp(data, stamp),
            watch=watched(car.name, "sealing", tell, stop),
        )
    kept = store.add_sealed(
        car.name,
        SealedFile(
            number=packed.number,
            former=None if former is None else former.number,
            occasion=occasion,
            edition=edition,
            originals=originals,
            fingerprint=packed.fingerprint,
            folder=str(packed.folder),
            files=packed.files,
            byte_size=packed.byte_size,
            stamped=stamp is not None,
            at=_at(moment),
            author=who,
        ),
    )
    sheet = None
    if set_sheet is not None:
        sheet = write_whole(sheet_path(folder), set_sheet(packed.number, packed.fingerprint), "handover").path
    # Last: what was sealed stands by now, and its sheet lies beside it, whatever becomes of the zip.
    archive = None
    if zipped:
        archive = folder.with_name(f"{folder.name}.zip")
        watch = watched(car.name, "zip", tell, stop, stopped=f"{archive.name} ({folder.name} is sealed)")
        write_zip(archive, folder, top=folder.name, watch=watch)
    return SealMade(
        car=car.name,
        title=car.title,
        sealed=kept,
        zipped=None if archive is None else str(archive),
        sheet=sheet,
        left_out=left_out,
        problems=(*problems, *_notices(car, kept, before)),
    )


def _at(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")


def _former(one: SealedFile | None) -> dict[str, str] | None:
    """Give how a sealed file is named in one that was sealed after it."""
    if one is None:
        return None
    return {"number": one.number, "sealed_at": one.at, "occasion": one.occasion.value, "edition": one.edition.value}


def _notices(car: CarFile, made: SealedFile, before: Sequence[SealedFile]) -> Iterator[Problem]:
    """Tell what whoever sealed may not have meant."""
    from shutline.publish.buyers.public import heard_facts, heard_only

    counted = ((len(heard_only(car)), "finding"), (len(heard_facts(car, without_facts=facts_left_out())), "fact"))
    waiting = [f"{count} {name}{'' if count == 1 else 's'}" for count, name in counted if count]
    if waiting:
        alone = len(waiting) == 1 and waiting[0].startswith("1 ")
        some = f"{' and '.join(waiting)} {'was' if alone else 'were'}"
        yield Problem(
            slug="seal-heard",
            where=car.name,
            found=f"{some} heard, and nobody has decided whether so",
            allowed="what is sealed and the handover sheet name them as heard and not confirmed",
            advice=f"Go through them, and seal again: shutline review {car.name}",
        )
    yield from no_house(car.name, "what was sealed")
    if before and before[0].fingerprint != made.fingerprint:
        yield Problem(
            slug="seal-key-other",
            where=car.name,
            found=f"signed with another key than the sealed file before, whose fingerprint is {before[0].fingerprint}",
            allowed="whoever has a sheet with that fingerprint cannot tell this one for yours by it",
            advice="Put the former key back if you have it; else tell the new fingerprint to whom it concerns.",
        )
    if made.occasion is Occasion.OFFERED and any(one.occasion is Occasion.SOLD for one in before):
        yield Problem(
            slug="seal-after-sold",
            where=car.name,
            found="sealed as offered, after it had been sealed as sold",
            allowed="this is right where the car is offered again",
            advice="If sold was meant, seal again with --as sold; what was sealed stays.",
        )


def _for_firm(
    store: Store, car: CarFile, aside: Path, moment: datetime, *, originals: bool, tell: Tell, stop: Stop
) -> tuple[list[Payload], Sequence[Problem]]:
    from shutline.car.schema import car_file_json

    whole = store.car_file(car.name, withdrawn=True)
    report = make_report(store, car.name, out=aside / "report", made_at=moment, tell=tell, stop=stop)
    whats = {
        "html": "the report as a page",
        "pdf": "the report on paper",
        "captions": "what was said",
        "chapters": "the stretches of the walk",
    }
    payload = [
        Payload(
            "car-file.json", _json(car_file_json(whole)), "all that is kept: findings, facts, and the history of each"
        )
    ]
    payload += [
        Payload(Path(one.path).name, Path(one.path), whats[one.what]) for one in report.files if one.what in whats
    ]
    payload += _words(store, car)
    held = _originals(whole)
    payload.append(Payload("originals.sha256", _hashes(held), "the hashes of the originals, with their names"))
    if originals:
        for one, source in ((one, _original_path(store, whole, one)) for one in held):
            ending = Path(one.name).suffix if _ENDING.fullmatch(Path(one.name).suffix) else ""
            what = "an original, as it came in"
            payload.append(Payload(f"originals/{one.sha256}{ending}", source, what, one.sha256))
    return payload, report.problems


def _words(store: Store, car: CarFile) -> list[Payload]:
    """Give the words the car is offered with, their claims checked, and the questions that were kept, with answers."""
    import msgspec

    from shutline.usecases.answering import ask
    from shutline.usecases.claim_check import check_words
    from shutline.usecases.describe import described_out, description_files

    payload = [Payload(name, data, "the words it is offered with") for name, data in description_files(store, car)]
    checked = check_words(store, car.name, described_out(store, car).text)
    payload.append(Payload("claims.json", _json(msgspec.to_builtins(checked)), "these words, checked claim by claim"))
    asked = [
        {
            "question": one,
            "answer": None if one.ended_at else replace(ask(store, car.name, one.words, keep=False), ways=()),
        }
        for one in store.questions(car.name)
    ]
    payload.append(Payload("questions.json", _json(msgspec.to_builtins(asked)), "what was asked, and answered"))
    accepted = _json(msgspec.to_builtins(store.offered_texts(car.name)))
    payload.append(Payload("accepted.json", accepted, "texts that were accepted: by whom, and what they answer for"))
    return payload


def _for_buyer(
    store: Store, car: CarFile, aside: Path, moment: datetime, private: Private, *, tell: Tell, stop: Stop
) -> tuple[list[Payload], Sequence[Problem]]:
    made = make_buyers_page(store, car.name, out=aside / "page", made_at=moment, tell=tell, stop=stop)
    root = Path(made.folder)
    payload = [
        Payload(f"page/{file.relative_to(root).as_posix()}", file, "a part of the buyer's page: open page/index.html")
        for file in sorted(one for one in root.rglob("*") if one.is_file())
    ]
    history = _json(public_history(car, private))
    check_left(store, car.name, {"history.json": history})
    payload.append(Payload("history.json", history, "how each finding came to stand"))
    names = [replace(one, name=f"{number}") for number, one in enumerate(_originals(car), 1)]
    payload.append(Payload("originals.sha256", _hashes(names), "the hashes of the originals that the firm keeps"))
    # That no house is set is told once, of what was sealed.
    return payload, [one for one in made.problems if one.slug != "house-not-set"]


def public_history(car: CarFile, private: Private) -> list[dict[str, Any]]:
    """Give the history of what stands, with nobody's name: who did it is the program or a person.

    Of quotes only those are in it that go out now: another may hold words of what was struck. What was struck and
    replaced by something that stands is told beside that, under ``replaced``, without the words it was heard in.
    """
    from shutline.car.findings import State
    from shutline.publish.buyers.wording import say
    from shutline.publish.struck import replaced, without_struck_words
    from shutline.store import PROGRAM

    left = without_struck_words(car).going_out()
    quotes = {footing.quote for kept in left for footing in kept.finding.footings}

    anew = replaced(car)

    def bare(value: object, mark: str, name: str = "") -> object:
        if isinstance(value, str):
            told = mark if name == "quote" and value and value not in quotes else value
            return private.text(told)
        if isinstance(value, dict):
            return {
                key: bare(inner, mark, key)
                for key, inner in value.items()
                if key not in {"author", "source", "rules", "why"}
            }
        return [bare(inner, mark) for inner in value] if isinstance(value, list | tuple) else value

    def told(kept: KeptFinding, mark: str) -> dict[str, Any]:
        return {
            "id": kept.id,
            "changes": [
                {
                    "at": change.at,
                    "by": "the program" if change.author == PROGRAM else "a person",
                    "action": change.action,
                    "before": bare(change.before, mark),
                    "after": bare(change.after, mark),
                }
                for change in kept.changes
            ],
        }

    history = []
    for kept in car.going_out():
        if kept.finding.state is State.STANDS:
            one = told(kept, say("page.withdrawn"))
            former = [struck for struck in car.findings if struck.id in anew and anew[struck.id].id == kept.id]
            if former:
                one["replaced"] = [told(struck, say("page.replaced")) for struck in former]
            history.append(one)
    return history


def sheet_path(folder: Path) -> Path:
    """Give where the handover sheet of a sealed file lies: beside it, with the edition in its name."""
    return folder.with_name(f"handover-{folder.name.removeprefix(f'sealed-{Occasion.SOLD.value}-')}.pdf")


def _sheet(store: Store, car: CarFile, *, edition: Edition, moment: datetime) -> Sheet:
    """Give what sets the handover sheet by number and fingerprint, once no private words are found in it."""
    from shutline.publish.handover import build_handover, handover_pdf
    from shutline.publish.report.entries import recording_numbers

    report, heard = public_report(store, car, moment)

    def set_sheet(number: str, fingerprint: str) -> bytes:
        model = build_handover(
            report,
            heard=heard,
            number=number,
            fingerprint=fingerprint,
            edition=edition,
            recordings=recording_numbers(car),
        )
        return handover_pdf(model)

    # What was sealed stays sealed: it is looked at before, with a number of noughts.
    check_left(store, car.name, {"handover.pdf": set_sheet("0" * 64, "0" * 64)})
    return set_sheet


def _originals(car: CarFile) -> list[Original]:
    held = [*(one.original for one in car.recordings), *(one.original for one in car.pictures)]
    held += [one.original for one in car.papers]
    return list({one.sha256: one for one in held}.values())


def _original_path(store: Store, car: CarFile, original: Original) -> Path:
    from shutline.capture.originals import original_path

    recording = next((one for one in car.recordings if one.original.sha256 == original.sha256), None)
    if recording is not None:
        return film_path(store, recording)
    return store.linked_path(original.sha256) or original_path(store.originals, original.sha256)


def _hashes(held: Sequence[Original]) -> bytes:
    """Write them as ``sha256sum`` does; a line end in a name would be two lines."""
    lines = (f"{one.sha256}  {' '.join(one.name.split())}\n" for one in held)
    return "".join(lines).encode("utf-8", "replace")


def _json(value: object) -> bytes:
    return (json.dumps(value, ensure_ascii=False, indent=1) + "\n").encode("utf-8", "replace")


def _info(title: str, moment: datetime, occasion: Occasion, former: SealedFile | None) -> dict[str, str]:
    """Give the lines of bag-info.txt: those that RFC 8493 reserves, and the chain."""
    lines = {
        "Source-Organization": house().name,
        "External-Description": f"{title}, as it was when it was {occasion.value}",
        "Bagging-Date": f"{moment:%Y-%m-%d}",
        "Bag-Software-Agent": f"shutline {VERSION}",
        "Former-Seal": "none" if former is None else former.number,
    }
    return {label: value for label, value in lines.items() if value}


def _no_originals() -> UserError:
    return UserError(
        Problem(
            slug="seal-originals",
            where="--originals",
            found="a sealed file for the buyer",
            allowed="originals in the firm's own: they hold every word that was said, and the place and the camera",
            advice="Leave --originals out, or seal for the firm.",
        )
    )
