"""The verbs of what goes to a stranger: the buyer's page, links to it, private words, sealed files."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.car.going_out import Edition, Occasion, PrivateKind
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened
from shutline.cli.stopping import stoppable

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.buyers_page import BuyersPageMade
    from shutline.usecases.private import PrivateShown
    from shutline.usecases.progress import Tell
    from shutline.usecases.sealing import SealedShown, SealMade
    from shutline.usecases.shares import SharesShown
    from shutline.usecases.verifying import Verified, VerifiedAll

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""

_UNSOUND = 2
_FILM_LEFT_OUT = 2


@app.command("buyers-page", epilog="Example: shutline buyers-page blue-saloon --zip")
def buyers_page(
    *,
    car: CarName,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for it. [default: out/CAR/buyers-page]", metavar="DIR")
    ] = None,
    zipped: Annotated[bool, typer.Option("--zip", help="Write one zip of it beside it.")] = False,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write the buyer's page: a folder that opens from a disk or any web host, with nothing private in it."""
    from shutline.usecases.buyers_page import make_buyers_page

    missing = None if out is None else output.first_missing(out.parent)
    with opened(store) as there, output.progress(quiet=as_json) as tell:
        _tell_covers_before(there, car, tell, quiet=as_json)
        made = make_buyers_page(there, car, out=out, zipped=zipped, tell=tell)
    if as_json:
        output.show_json(made)
    else:
        for line in (*output.new_folder(missing), *_page_lines(made)):
            output.print_line(line)
        for problem in made.problems:
            output.show_problem(problem)
    if made.unread:
        raise typer.Exit(_FILM_LEFT_OUT)


@app.command(epilog="Example: shutline share blue-saloon --until 2026-12-24")
def share(
    *,
    car: CarName,
    until: Annotated[
        str | None, typer.Option("--until", help="Its last day. [default: until it is ended]", metavar="DAY")
    ] = None,
    end: Annotated[
        str | None, typer.Option("--end", help="Ends a link, by its address or a beginning; or all.", metavar="LINK")
    ] = None,
    kept: Annotated[bool, typer.Option("--kept", help="List the links, and make none.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Share the buyer's page through the workbench, under an address nobody can guess; or end that."""
    from shutline.usecases.shares import end_share, shares
    from shutline.usecases.shares import share as run_share

    if sum((until is not None, end is not None, kept)) > 1:
        raise _more_than_one("--until, --end and --kept")
    with opened(store) as there:
        if kept:
            shown = shares(there, car)
        elif end is not None:
            shown = end_share(there, car, "" if end == "all" else end, author=by)
        else:
            with output.progress(quiet=as_json) as tell:
                _tell_covers_before(there, car, tell, quiet=as_json)
                shown = run_share(there, car, until=until, author=by, tell=tell)
    if as_json:
        output.show_json(shown)
        return
    for line in _share_lines(shown):
        output.print_line(line)


@app.command(epilog="Example: shutline private blue-saloon 'Augusta Harbottle' --as keeper")
def private(
    *,
    car: CarName,
    words: Annotated[
        str | None, typer.Argument(metavar="[WORDS]", help="Words that may not leave; left out, those kept are listed.")
    ] = None,
    kind: Annotated[
        PrivateKind, typer.Option("--as", help="What sort of thing they are; no-name: no name at all.")
    ] = PrivateKind.OTHER,
    take_back: Annotated[
        int | None, typer.Option("--take-back", help="Takes words back, by their number.", metavar="N")
    ] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Keep words that go to no stranger, not in a caption and not in the sound of the film; or list them."""
    from shutline.usecases.private import keep_private, private_shown, take_back_private

    if words is not None and take_back is not None:
        raise _more_than_one("words and --take-back")
    with opened(store) as there:
        if take_back is not None:
            shown = take_back_private(there, car, take_back, author=by)
        elif words is not None:
            shown = keep_private(there, car, words, kind=kind, author=by)
        else:
            shown = private_shown(there, car)
    if as_json:
        output.show_json(shown)
        return
    for line in _private_lines(shown):
        output.print_line(line)


@app.command(epilog="Example: shutline seal blue-saloon --as sold --for buyer --zip")
def seal(
    *,
    car: CarName,
    occasion: Annotated[Occasion | None, typer.Option("--as", help="Why it is sealed: offered or sold.")] = None,
    edition: Annotated[
        Edition, typer.Option("--for", help="firm: all that is kept; buyer: what the buyer's page shows.")
    ] = Edition.FIRM,
    originals: Annotated[
        bool, typer.Option("--originals", help="Pack recordings and pictures too. [default: their hashes]")
    ] = False,
    stamp: Annotated[
        str | None,
        typer.Option("--stamp", help="Time-stamp service to ask (RFC 3161); only a hash is sent. [default: none]"),
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for it. [default: out/CAR]", metavar="DIR")] = None,
    zipped: Annotated[bool, typer.Option("--zip", help="Write one zip of it beside it.")] = False,
    kept: Annotated[bool, typer.Option("--kept", help="List what was sealed, and seal nothing.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Seal the car file as it is now: packed and signed, so that a change to it shows."""
    from shutline.usecases.sealing import seal as run_seal
    from shutline.usecases.sealing import sealed_files

    if occasion is None and not kept:
        raise _refused(
            "not told why it is sealed", "--as offered or --as sold", f"Type: shutline seal {car} --as offered"
        )
    if occasion is not None and kept:
        raise _refused("--as and --kept together", "one of them", "--kept lists what was sealed, and seals nothing.")
    phrase = "" if occasion is None else _phrase("Pass phrase of the key")
    missing = None if out is None else output.first_missing(out)
    with opened(store) as there:
        if occasion is None:
            shown = sealed_files(there, car)
        else:
            with stoppable() as stop, output.progress(quiet=as_json) as tell:
                made = run_seal(
                    there,
                    car,
                    occasion=occasion,
                    edition=edition,
                    originals=originals,
                    stamp=stamp,
                    out=out,
                    zipped=zipped,
                    phrase=phrase,
                    author=by,
                    tell=tell,
                    stop=stop,
                )
    if as_json:
        output.show_json(shown if occasion is None else made)
        return
    for line in _kept_lines(shown) if occasion is None else (*output.new_folder(missing), *_seal_lines(made)):
        output.print_line(line)
    for problem in () if occasion is None else made.problems:
        output.show_problem(problem)


@app.command(name="seal-key", epilog="Example: shutline seal-key --lock")
def seal_key(
    *,
    lock: Annotated[
        bool, typer.Option("--lock", help="Put the key under a pass phrase, or under another; it is asked for.")
    ] = False,
    unlock: Annotated[bool, typer.Option("--unlock", help="Take the pass phrase away again.")] = False,
    new: Annotated[bool, typer.Option("--new", help="Make another key, where the one that was there is gone.")] = False,
    as_json: AsJson = False,
) -> None:
    """Show the key that sealed files are signed with; put it under a pass phrase.

    Phrases are asked for, or taken from the environment variables SHUTLINE_SEAL_PHRASE and, for the new one,
    SHUTLINE_NEW_SEAL_PHRASE.
    """
    from shutline.usecases.seal_keys import another_seal_key, lock_seal_key, seal_key_shown

    if sum((lock, unlock, new)) > 1:
        raise _more_than_one("--lock, --unlock and --new")
    shown = another_seal_key() if new else seal_key_shown()
    if lock or unlock:
        former = _phrase("Present pass phrase")
        wanted = _new_phrase() if lock else ""
        shown = lock_seal_key(wanted, former=former)
    if as_json:
        output.show_json(shown)
        return
    output.print_line(f"Key     {shown.fingerprint or 'not told without its pass phrase'}")
    output.print_line(f"        {output.printable(shown.file)}")
    output.print_line("It is under a pass phrase." if shown.locked else "It is under no pass phrase.")


def _phrase(words: str) -> str:
    """Give the pass phrase of the key, asked for where it has one."""
    from shutline.usecases.seal_keys import key_is_locked

    if not key_is_locked():
        return ""
    given = os.environ.get("SHUTLINE_SEAL_PHRASE")
    return given if given is not None else _asked_for(words)


def _asked_for(words: str, *, twice: bool = False) -> str:
    """Ask for a pass phrase; raises UserError (slug ``seal-key-locked``) where there is nobody to ask."""
    try:
        return str(typer.prompt(words, hide_input=True, confirmation_prompt=twice, err=True))
    except typer.Abort as trouble:
        if sys.stdin.isatty():
            raise
        raise UserError(
            Problem(
                slug="seal-key-locked",
                where="shutline",
                found="a pass phrase is needed, and there is nobody to ask for it",
                allowed="a terminal, or the phrase in SHUTLINE_SEAL_PHRASE (a new one in SHUTLINE_NEW_SEAL_PHRASE)",
                advice="Give it there.",
            )
        ) from trouble


def _new_phrase() -> str:
    given = os.environ.get("SHUTLINE_NEW_SEAL_PHRASE")
    return given if given is not None else _asked_for("New pass phrase", twice=True)


@app.command(epilog="Example: shutline verify out/blue-saloon/sealed-sold-buyer-20261126T090000Z.zip")
def verify(
    *,
    sealed: Annotated[list[Path], typer.Argument(metavar="SEALED...", help="Sealed files: folders, or zips of them.")],
    key: Annotated[
        Path | None, typer.Option("--key", help="Public key they must be signed with (PEM). [default: any]")
    ] = None,
    roots: Annotated[
        Path | None, typer.Option("--roots", help="Certificates to trust for time stamps (PEM). [default: none]")
    ] = None,
    number: Annotated[
        str | None, typer.Option("--number", help="Number it must have, as on the handover sheet.", metavar="DIGITS")
    ] = None,
    fingerprint: Annotated[
        str | None,
        typer.Option("--fingerprint", help="Of the key it must be signed with, as on the sheet.", metavar="DIGITS"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say whether sealed files are as they were sealed, and if not, which file was changed and how."""
    from shutline.usecases.verifying import verify as run_verify

    with stoppable() as stop, output.progress(quiet=as_json) as tell:
        found = run_verify(
            sealed, key=key, roots=roots, number=number, key_fingerprint=fingerprint, tell=tell, stop=stop
        )
    if as_json:
        output.show_json(found)
    else:
        for line in _verified_lines(found):
            output.print_line(line)
    if not found.sound:
        raise typer.Exit(_UNSOUND)


def _page_lines(made: BuyersPageMade) -> Iterator[str]:
    size = output.size(made.byte_size)
    yield f"Written: {output.printable(made.folder)}  ({made.files} files, {size}); open index.html in it"
    if made.zipped is not None:
        yield f"Written: {output.printable(made.zipped)}"
    films = "no film" if not made.films else "1 film" if made.films == 1 else f"{made.films} films"
    yield f"On it: {films}, {made.findings} findings that stand, {made.faults} of them faults."
    yield from _unread_lines(made)
    if made.waiting:
        yield output.wrapped(_waiting_words(made))
    if made.waiting_facts:
        yield output.wrapped(_waiting_facts_words(made))
    for line in made.left_out:
        yield output.wrapped(output.printable(line))
    yield from _covers_lines(made)


def _unread_lines(made: BuyersPageMade) -> Iterator[str]:
    if made.unread:
        yield f"Films that could not be read, and are not on it: {made.unread}."


def _tell_covers_before(store: Store, car: str, tell: Tell, *, quiet: bool) -> None:
    """Tell what is half covered before anything is made: whoever sees it may stop, look, and begin again."""
    from shutline.usecases.wide_covers import told_before_going_out

    for line in told_before_going_out(store, car, tell=tell):
        if not quiet:
            output.log_line(output.wrapped(output.printable(f"before it is made: {line}")))


def _covers_lines(made: BuyersPageMade) -> Iterator[str]:
    """Tell how sure it is what is covered, before the page goes to anybody."""
    if made.covers:
        yield output.wrapped(f"{' '.join(made.covers)} See: shutline mask {made.car}")


def _waiting_words(made: BuyersPageMade) -> str:
    """Tell what is not confirmed, before the page goes to anybody."""
    heard = "1 finding was heard" if made.waiting == 1 else f"{made.waiting} findings were heard"
    places = "its place" if made.waiting == 1 else "their places"
    told = "it" if made.waiting == 1 else "them"
    lead = "" if made.findings else "Nothing on it is confirmed, so it says of no part whether it is good or bad. "
    return (
        f"{lead}{heard} and not confirmed: the page names {places} and no more. "
        f"Before it goes out look at {told}: shutline review {made.car}"
    )


def _waiting_facts_words(made: BuyersPageMade) -> str:
    """Tell how many facts of the car are not confirmed, before the page goes to anybody."""
    if made.waiting_facts == 1:
        return (
            "1 fact about the car was heard and not confirmed: the page tells it and says so. "
            f"Before it goes out look at it: shutline review {made.car}"
        )
    return (
        f"{made.waiting_facts} facts about the car were heard and not confirmed: the page tells them and says so. "
        f"Before it goes out look at them: shutline review {made.car}"
    )


def _share_lines(shown: SharesShown) -> Iterator[str]:
    for one in shown.links:
        state = "open" if one.open else "ended"
        if one.open and one.share.until is not None:
            state = f"open before {one.share.until[:10]}"
        yield f"{one.path}  {state}, made {one.share.at[:16].replace('T', ' ')} by {output.printable(one.share.author)}"
    if not shown.links:
        yield "There is no link to it."
        return
    if shown.page is not None:
        yield from _unread_lines(shown.page)
        yield from _covers_lines(shown.page)
    yield output.wrapped("They hang behind the address of the workbench, while `shutline serve` runs.")
    if not shown.fresh:
        yield output.wrapped("The car file has changed since the page was made: share it again, or open the link once.")


def _private_lines(shown: PrivateShown) -> Iterator[str]:
    for one in shown.words:
        state = "" if one.ended_at is None else f", taken back by {output.printable(one.ended_by or '')}"
        yield f"{one.id:4} {one.kind:8} {output.printable(one.words)}  ({output.printable(one.author)}{state})"
    if shown.unheard:
        quoted = f"\N{LEFT SINGLE QUOTATION MARK}{output.printable(shown.unheard)}\N{RIGHT SINGLE QUOTATION MARK}"
        yield output.wrapped(
            f"Nobody says {quoted} in what was heard: these words are kept, but take nothing out. "
            "See how it was heard, and keep that."
        )
    if not shown.words:
        yield "Nothing was said to be private of this car."
    yield output.wrapped(
        "Names after Mr or Mrs, people who are called by name, sums that were paid, postcodes, addresses and telephone "
        "numbers are left out by themselves where they are told for such; look yourself before anything goes out."
    )
    if shown.people:
        yield output.wrapped(
            f"Taken for names of people, and left out: {output.printable(', '.join(shown.people))}. "
            "Where one of these is no name, say so: --as no-name leaves it in."
        )
    if shown.facts_left_out:
        names = " and ".join(name.replace("_", " ") for name in shown.facts_left_out)
        yield f"Left out because pictures are covered: {names}."


def _seal_lines(made: SealMade) -> Iterator[str]:
    one = made.sealed
    yield f"Sealed: {output.printable(one.folder)}  ({one.files} files, {output.size(one.byte_size)})"
    for path in (made.zipped, made.sheet):
        if path is not None:
            yield f"Written: {output.printable(path)}"
    yield f"Number  {one.number}"
    yield f"Key     {one.fingerprint}"
    yield f"Follows {one.former or 'nothing: it is the first'}"
    if made.left_out:
        yield f"Not in it: {', '.join(made.left_out)}."


def _kept_lines(shown: SealedShown) -> Iterator[str]:
    if not shown.sealed:
        yield "Nothing was sealed of this car."
    for one in shown.sealed:
        stamped = ", time-stamped" if one.stamped else ""
        yield f"{_utc(one.at)}  {one.occasion}, for the {one.edition}{stamped}, by {output.printable(one.author)}"
        yield f"  {one.number}"
        yield f"  {output.printable(one.folder)}"


def _verified_lines(found: VerifiedAll) -> Iterator[str]:
    for one in found.files:
        yield from _verified(one)


def _verified(one: Verified) -> Iterator[str]:
    there = one.checked
    yield output.printable(f"{one.path}: {one.headline}{':' if one.words else ''}")
    for words in one.words:
        yield f"  {output.printable(words)}"
    told = there.statement
    if isinstance(told.get("title"), str):
        whom = f", for the {told['edition']}" if isinstance(told.get("edition"), str) else ""
        at = _utc(str(told.get("sealed_at")))
        yield output.printable(f"  {told['title']}, {told.get('occasion')}{whom}, sealed {at}")
    yield f"  number {there.number}" + ("" if there.whole else "  (of the list alone: not all it lists is as it was)")
    if there.fingerprint:
        yield f"  key    {there.fingerprint}" + ("  (your own)" if one.own_key else "")
    if there.sound and not one.vouched:
        yield output.wrapped(
            "Hold number and key against the handover sheet that you signed, or give them: --number, --fingerprint.",
            indent="  ",
        )
    for words in one.chain:
        yield output.printable(f"  {words}")
    if there.stamp is not None:
        stamp = there.stamp
        trust = {True: "trusted", False: "not trusted", None: "nobody checked who made it: give --roots"}[stamp.trusted]
        state = trust if stamp.fits else "it does not fit"
        yield output.printable(f"  time stamp {stamp.at} by {stamp.by} ({state}) {stamp.found}".rstrip())


def _utc(at: str) -> str:
    """Give a moment in ISO 8601 to the second, and say that it is UTC."""
    return f"{at[:19].replace('T', ' ')} UTC" if at.endswith("Z") else at


def _more_than_one(options: str) -> UserError:
    return _refused("more than one of these", f"only one of {options}", "Give one of them.")


def _refused(found: str, allowed: str, advice: str) -> UserError:
    return UserError(Problem(slug="command-line", where="shutline", found=found, allowed=allowed, advice=advice))
