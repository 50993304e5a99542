"""The verbs of what is said about a car in writing: check a text, answer a question, list what has no answer."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import BadInputError, Problem, UserError
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.car.questions import KeptQuestion
    from shutline.usecases.answering import Replied
    from shutline.usecases.claim_check import ClaimLine, RewriteChecked, WordsChecked
    from shutline.usecases.claim_words import StandsOn
    from shutline.usecases.offering import Offered, RewriteHeld

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""

_STANDARD_INPUT = "-"
_TO_MEND = 2
"""What a command ends with where something is to be mended."""


@app.command(epilog="Example: shutline check advert.txt --car blue-saloon")
def check(
    *,
    text: Annotated[str, typer.Argument(metavar="TEXT", help="File with the text, or - for standard input.")],
    car: Annotated[str, typer.Option("--car", help="Name of a car, or the start of one.")],
    instead_of: Annotated[
        Path | None,
        typer.Option(
            "--instead-of",
            help="The text it is to replace: tell whether it adds a claim without footing or drops a fault.",
            metavar="FILE",
        ),
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Read a text about a car claim by claim: backed, at odds or unbacked, each with what it stands on.

    Ends with 2 where a claim is at odds with the file, or a rewrite may not take the place of the other text.
    """
    from shutline.usecases.claim_check import check_rewrite, check_words

    words = _text(text)
    with opened(store) as there:
        if instead_of is None:
            checked = check_words(there, car, words)
            if as_json:
                output.show_json(checked)
            else:
                _show_checked(checked)
            if checked.at_odds:
                raise typer.Exit(_TO_MEND)
            return
        compared = check_rewrite(there, car, _text(str(instead_of)), words)
    if as_json:
        output.show_json(compared)
    else:
        _show_checked(compared.checked)
        _show_rewrite(compared)
    if not compared.accepted:
        raise typer.Exit(_TO_MEND)


def _show_rewrite(compared: RewriteChecked) -> None:
    for heading, lines in (("Added without footing", compared.added), ("Fault left out", compared.dropped)):
        for line in lines:
            output.print_line(f"{heading}: «{output.printable(line.quote)}»")
    _show_untold(compared.untold, compared.silenced)
    _show_marked(compared.marked)
    output.print_line("It may take the place of the other." if compared.accepted else "It may not take its place.")


@app.command(epilog="Example: shutline rewrite blue-saloon better.txt --accept")
def rewrite(
    *,
    car: CarName,
    text: Annotated[
        str | None,
        typer.Argument(
            metavar="[TEXT]", help="File with the rewrite, or - for standard input; left out, what goes out."
        ),
    ] = None,
    accept: Annotated[
        bool, typer.Option("--accept", help="Let it go out in the place of the draft, if nothing stands against it.")
    ] = False,
    vouch: Annotated[
        bool, typer.Option("--vouch", help="Answer for the words that nothing reads: they are kept with your name.")
    ] = False,
    undo: Annotated[bool, typer.Option("--undo", help="Take back the words that were accepted last.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Hold a rewrite against the draft: no claim without footing, no fault left out. Ends with 2 where that is not so.

    Accepted words go out on the buyer's page and in all forms of the description, until something else stands.
    """
    from shutline.usecases.offering import accept_rewrite, hold_rewrite, offered, take_back_rewrite

    if (accept and text is None) or (undo and text is not None) or (vouch and not accept):
        raise typer.BadParameter("--accept goes with a TEXT, --undo without one, and --vouch with --accept")
    with opened(store) as there:
        if text is not None and not accept:
            held = hold_rewrite(there, car, _text(text))
            if as_json:
                output.show_json(held)
            else:
                _show_held(held)
            if not held.accepted:
                raise typer.Exit(_TO_MEND)
            return
        if text is not None:
            words = _text(text)
            vouched = hold_rewrite(there, car, words).untold if vouch else ()
            now = accept_rewrite(there, car, words, author=by, vouched=vouched)
        else:
            now = take_back_rewrite(there, car, author=by) if undo else offered(there, car)
    if as_json:
        output.show_json(now)
    else:
        _show_offered(now)


def _show_untold(untold: tuple[str, ...], silenced: tuple[str, ...]) -> None:
    for quote in untold:
        output.print_line(output.wrapped(f"Nothing reads this, and it may state something: «{_plain(quote)}»"))
    if silenced:
        output.print_line(output.wrapped(f"It no longer says that nobody looked at: {_plain(', '.join(silenced))}."))


def _show_marked(marked: tuple[str, ...]) -> None:
    for quote in marked:
        output.print_line(
            output.wrapped(f"Markup or a letter that is not seen could hide words; write it plainly: «{_plain(quote)}»")
        )


def _show_held(held: RewriteHeld) -> None:
    for claim in held.added:
        _show_claim(claim)
    for fault in held.dropped:
        output.print_line(output.wrapped(f"Left out: {_plain(fault.words)} (the draft: «{_plain(fault.sentence)}»)"))
    _show_untold(held.untold, held.silenced)
    _show_marked(held.marked)
    for line in held.private:
        output.print_line(output.wrapped(f"May not leave: {_plain(line)}"))
    if held.if_vouched:
        output.print_line("It may go out if you answer for the words that nothing reads: --accept --vouch.")
    else:
        output.print_line("It may go out: --accept." if held.accepted else "It may not go out.")


def _show_offered(now: Offered) -> None:
    if now.present is None:
        output.print_line("The draft goes out:")
    elif now.goes_out:
        output.print_line(f"Accepted by {_plain(now.present.author)}, {now.present.at[:10]}:")
        for quote in now.present.vouched:
            output.print_line(
                output.wrapped(f"Nothing reads this; {_plain(now.present.author)} answers for it: «{_plain(quote)}»")
            )
    else:
        output.print_line(
            output.wrapped(
                f"The draft goes out: something else stands than when {_plain(now.present.author)} accepted "
                f"other words, {now.present.at[:10]}. Hold them against it again."
            )
        )
    for heading, paragraph in zip(now.headings, now.paragraphs, strict=True):
        for one in filter(None, (heading, paragraph)):
            output.print_line(output.wrapped(_plain(one)))


@app.command(epilog='Example: shutline ask blue-saloon "any rust on the sills mate?"')
def ask(
    *,
    car: CarName,
    question: Annotated[str, typer.Argument(metavar="QUESTION", help="As it was typed.")],
    keep: Annotated[
        bool, typer.Option("--keep/--do-not-keep", help="Keep what was asked, with or without an answer.")
    ] = True,
    letter: Annotated[
        str | None,
        typer.Option("--letter", help="Only the reply, with ways into the film at this address.", metavar="ADDRESS"),
    ] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Answer a stranger's question from the car file, with its moment; what is not known is said to be not known."""
    from shutline.usecases.answering import ask as run_ask
    from shutline.usecases.answering import every_reply
    from shutline.usecases.answering import letter as as_letter

    with opened(store) as there:
        replied = run_ask(there, car, question, keep=keep, author=by)
    if as_json:
        output.show_json(replied)
        return
    if letter is not None:
        for line in as_letter(replied, letter).splitlines():
            output.print_line(output.printable(line))
        return
    for one in every_reply(replied):
        _show_reply(one)


@app.command(epilog="Example: shutline questions blue-saloon")
def questions(
    *,
    car: CarName,
    drop: Annotated[str | None, typer.Option("--drop", help="Take the question of this id off the list.")] = None,
    on_page: Annotated[
        str | None, typer.Option("--on-page", help="Put the question of this id onto the buyer's page.", metavar="ID")
    ] = None,
    off_page: Annotated[
        str | None, typer.Option("--off-page", help="Take the question of this id off the page.", metavar="ID")
    ] = None,
    answered: Annotated[bool, typer.Option("--all", help="List those too that have an answer by now.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List what was asked of a car and still has no answer, with the checks that would give one.

    A question goes onto the buyer's page only where somebody says so, with --on-page. What was changed is told in one
    line; as JSON it is followed by the list.
    """
    from shutline.usecases.answering import asked_questions, drop_question, open_questions, show_question

    if sum(one is not None for one in (drop, on_page, off_page)) > 1:
        allowed = "only one of --drop, --on-page and --off-page"
        raise UserError(Problem("command-line", "shutline", "more than one of these", allowed, "Give one of them."))
    changed: KeptQuestion | None = None
    with opened(store) as there:
        if drop is not None:
            changed = drop_question(there, car, drop, author=by)
        for question, shown in ((on_page, True), (off_page, False)):
            if question is not None:
                changed = show_question(there, car, question, shown=shown, author=by)
        if changed is not None and not as_json:
            heard = any(one.heard and one.question.id == changed.id for one in asked_questions(there, car))
            output.print_line(output.wrapped(_changed_words(changed, heard=heard)))
            return
        found = open_questions(there, car)
        asked = asked_questions(there, car)
    if as_json:
        output.show_json(asked if answered else found)
        return
    if not found:
        output.print_line("No question is without an answer.")
    for one in found:
        would = f"; would be answered by: {', '.join(one.checks)}" if one.checks else ""
        output.print_line(output.wrapped(output.printable(f"{one.question.words} ({one.kind}{would})")))
        _show_question(one.question)
    by_now = [one for one in asked if not one.open]
    if by_now and not answered:
        some = "one question has" if len(by_now) == 1 else f"{len(by_now)} questions have"
        output.print_line(f"And {some} an answer by now: --all")
    for each in by_now if answered else ():
        output.print_line(output.wrapped(output.printable(f"{each.question.words} Answered by now: {each.reply}")))
        _show_question(each.question, heard=each.heard)


def _changed_words(question: KeptQuestion, *, heard: bool) -> str:
    """Tell where a question is that was put onto the page, taken off it or off the list, and who said so and when."""
    which = f"«{_plain(question.words)}» ({question.id})"
    if question.ended_at is not None:
        where, who, at = "off the list and not on the buyer's page", question.ended_by, question.ended_at
        return f"{which} is {where}; taken off by {_plain(who)}, {at[:10]}."
    if not question.said:
        return f"{which} is not on the buyer's page; nobody has put it there."
    last = question.said[-1]
    by = f"{'put there' if last.on else 'taken off'} by {_plain(last.author)}, {last.at[:10]}"
    if not last.on:
        return f"{which} is not on the buyer's page; {by}. It stays on the list."
    if heard:
        waits = "It is not shown there yet: it waits until what its answer stands on is confirmed."
        return f"{which} is to be on the buyer's page; {by}. {waits}"
    return f"{which} is on the buyer's page; {by}."


def _show_question(question: KeptQuestion, *, heard: bool = False) -> None:
    page = "on the buyer's page" if question.on_page else "not on the buyer's page"
    if question.on_page and heard:
        page = "put onto the buyer's page, where it waits until what its answer stands on is confirmed"
    who = f"{question.id}, {_plain(question.author)}, {question.at[:10]}"
    output.print_line(output.wrapped(f"{who}; {page}", indent="  "))


def _text(name: str) -> str:
    """Read a text from a file or from standard input, and tell where it had to be guessed what its bytes mean."""
    from shutline.usecases.given_text import text_of

    where = "standard input" if name == _STANDARD_INPUT else name
    try:
        data = sys.stdin.buffer.read() if name == _STANDARD_INPUT else Path(name).read_bytes()
    except OSError as error:
        raise BadInputError(
            Problem("text-not-read", where, error.strerror or "it cannot be read", "a file with words", "Name another.")
        ) from error
    text, problems = text_of(data, name=where)
    for problem in problems:
        output.show_problem(problem)
    return text


def _show_checked(checked: WordsChecked) -> None:
    output.print_line(
        f"{output.printable(checked.title)}: {checked.backed} backed, {checked.at_odds} at odds, "
        f"{checked.unbacked} unbacked. Whether the rest is true is not checked."
    )
    for claim in checked.claims:
        _show_claim(claim)
    for problem in checked.problems:
        output.show_problem(problem)


def _show_claim(claim: ClaimLine) -> None:
    output.print_line(
        f"{claim.verdict.upper() if claim.verdict == 'at odds' else claim.verdict}: «{_plain(claim.quote)}»"
    )
    read_as = f"{_plain(claim.read_as)}. " if claim.read_as else ""
    output.print_line(output.wrapped(f"{read_as}{claim.why}", indent="    "))
    for one in claim.stands_on:
        output.print_line(output.wrapped(_stand(one), indent="      "))
    if claim.more:
        output.print_line(f"      and {claim.more} more (--json names all that are shown)")


def _show_reply(replied: Replied) -> None:
    if replied.read_as:
        output.print_line(f"Read as: {_plain(replied.read_as)}")
    output.print_line(output.wrapped(_plain(replied.reply)))
    for one in (*replied.stands_on, *replied.beside):
        output.print_line(output.wrapped(_stand(one), indent="  "))
    if replied.heard:
        output.print_line("  It stands on what was heard and nobody has confirmed yet.")
    if replied.kept is not None and replied.open:
        would = f" It would be answered by: {', '.join(replied.checks)}." if replied.checks else ""
        output.print_line(f"Kept among the questions of {replied.car}.{would}")


def _stand(one: StandsOn) -> str:
    moment = "" if one.start_s is None else f" at {output.clock(one.start_s)}"
    quote = f" «{_plain(one.quote)}»" if one.quote else ""
    return f"{_plain(one.words)}, {one.kind}{moment}{quote}"


def _plain(text: str) -> str:
    return output.printable(" ".join(text.split()))
