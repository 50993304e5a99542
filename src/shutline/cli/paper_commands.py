"""The verbs of papers: brought in, what was read off them decided about, and what of them goes out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.car.papers import PaperKind, PaperState, ReadKind, ReadState
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened
from shutline.cli.stopping import stoppable

if TYPE_CHECKING:
    from shutline.usecases.papers import CarPapers, PaperLine, ReadLine, ReadVerb
    from shutline.usecases.papers_intake import PapersCame
    from shutline.usecases.papers_out import PaperOut

app = typer.Typer()
"""Its commands are some of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline papers blue-saloon invoice.pdf")
def papers(
    *,
    car: CarName,
    files: Annotated[
        list[Path] | None, typer.Argument(metavar="[FILES]...", help="Papers to bring in: PDFs and pictures.")
    ] = None,
    password: Annotated[str, typer.Option("--password", help="Of PDFs that are under one; it is kept nowhere.")] = "",
    link: Annotated[bool, typer.Option("--link", help="Leave the originals where they are.")] = False,
    go_on: Annotated[bool, typer.Option("--go-on", help="Go on with papers that were not read to their end.")] = False,
    anew: Annotated[
        bool, typer.Option("--anew", help="Tell anew what the words of all papers say; what was decided stays.")
    ] = False,
    take: Annotated[str | None, typer.Option("--take", help="Take what was read.", metavar="ID")] = None,
    amend: Annotated[
        str | None, typer.Option("--amend", help="Take it otherwise: --value, --unit, --day, --role.", metavar="ID")
    ] = None,
    value: Annotated[str | None, typer.Option("--value", help="What stands there, as you read it.")] = None,
    unit: Annotated[str | None, typer.Option("--unit", help="mi or km; GBP, EUR and the like.")] = None,
    day: Annotated[str | None, typer.Option("--day", help="The day it is of: 1968, 1968-03, 1968-03-12.")] = None,
    role: Annotated[str | None, typer.Option("--role", help="What it is of: first registered, test, total …")] = None,
    as_kind: Annotated[ReadKind | None, typer.Option("--as", help="What sort of thing it is.")] = None,
    strike: Annotated[str | None, typer.Option("--strike", help="Strike what was read.", metavar="ID")] = None,
    again: Annotated[str | None, typer.Option("--again", help="Let it wait again.", metavar="ID")] = None,
    same: Annotated[
        str | None, typer.Option("--same", help="Say of a paper that it is this car's.", metavar="ID")
    ] = None,
    other: Annotated[
        str | None, typer.Option("--other", help="Say of a paper that it is another car's.", metavar="ID")
    ] = None,
    unsaid: Annotated[str | None, typer.Option("--open", help="Take back whose a paper is.", metavar="ID")] = None,
    paper: Annotated[str | None, typer.Option("--paper", help="The paper meant by --is.", metavar="ID")] = None,
    is_: Annotated[PaperKind | None, typer.Option("--is", help="Say what the paper is.")] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List a car's papers, bring papers in, and decide what was read off them; nothing counts until it is taken."""
    from shutline.usecases.papers import car_papers, decide_paper, decide_read
    from shutline.usecases.papers_intake import enter_papers, read_on

    reads: dict[ReadVerb, str | None] = {"take": take, "amend": amend, "strike": strike, "again": again}
    said = {PaperState.SAME: same, PaperState.OTHER: other, PaperState.OPEN: unsaid}
    chosen = [(verb, id_) for verb, id_ in reads.items() if id_ is not None]
    states = [(state, id_) for state, id_ in said.items() if id_ is not None]
    many = len(chosen) + len(states) + bool(files) + (go_on or anew) + (is_ is not None)
    if many > 1 or (is_ is None) != (paper is None):
        found = "several things to do at once" if many > 1 else "one of --is and --paper without the other"
        raise _refused("papers", found, "files, or one of the options that do something; --is with --paper")
    with opened(store) as there:
        if files or go_on or anew:
            with stoppable() as stop, output.progress(quiet=as_json) as tell:
                if files:
                    came = enter_papers(
                        there, car, files, password=password, link=link, author=by, tell=tell, stop=stop
                    )
                else:
                    came = read_on(there, car, password=password, again=anew, tell=tell, stop=stop)
            output.show_json(came) if as_json else _show_came(came)
            if any(one.error for one in came.papers):
                raise typer.Exit(2)
        elif chosen:
            verb, id_ = chosen[0]
            done = decide_read(
                there, car, id_, verb, value=value, unit=unit, day=day, kind=as_kind, role=role, author=by
            )
            output.show_json(done) if as_json else _show_read(done.read)
        elif states:
            line = decide_paper(there, car, states[0][1], state=states[0][0], author=by)
            output.show_json(line) if as_json else _show_paper(line)
        elif is_ is not None and paper is not None:
            line = decide_paper(there, car, paper, kind=is_, author=by)
            output.show_json(line) if as_json else _show_paper(line)
        else:
            shown = car_papers(there, car)
            output.show_json(shown) if as_json else _show_all(shown)


@app.command("paper-out", epilog="Example: shutline paper-out blue-saloon 1f2e --out pages")
def paper_out(
    *,
    car: CarName,
    paper: Annotated[str, typer.Argument(metavar="PAPER", help="The paper, by its id or a beginning of it.")],
    out: Annotated[
        Path | None, typer.Option("--out", help="Write each page as it would go out, to look at.", metavar="DIR")
    ] = None,
    let: Annotated[
        str | None, typer.Option("--let", help="Let it go out as you looked at it, by its mark.", metavar="MARK")
    ] = None,
    hold_back: Annotated[bool, typer.Option("--hold-back", help="Keep it from going out.")] = False,
    cover: Annotated[
        str | None,
        typer.Option("--cover", help="Cover one more stretch: page, left, top, width, height.", metavar="N,L,T,W,H"),
    ] = None,
    uncover: Annotated[bool, typer.Option("--uncover", help="Take back what --cover covered.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Look at a paper as it would go to a buyer, what is private black, and let it go out or hold it back."""
    from shutline.car.kept_papers import Cover
    from shutline.car.papers import Box
    from shutline.usecases.look import find_car
    from shutline.usecases.papers import one_paper
    from shutline.usecases.papers_out import cover_more, let_out, page_out
    from shutline.usecases.papers_out import hold_back as held_back
    from shutline.usecases.papers_out import paper_out as as_it_goes
    from shutline.usecases.written import cannot_write

    if (out is not None) + (let is not None) + hold_back + (cover is not None) + uncover > 1:
        raise _refused(
            "paper-out", "several things to do at once", "one of --out, --let, --hold-back, --cover, --uncover"
        )
    with opened(store) as there:
        if let is not None:
            shown = let_out(there, car, paper, mark=let, author=by)
        elif hold_back:
            shown = held_back(there, car, paper, author=by)
        elif cover is not None or uncover:
            covers = () if uncover else one_paper(find_car(there, car), paper).covers
            if cover is not None:
                number, *box = _figures(cover)
                covers = (*covers, Cover(int(number), Box(*box)))
            shown = cover_more(there, car, paper, covers, author=by)
        else:
            shown = as_it_goes(there, car, paper)
        if out is not None:
            with cannot_write(out):
                out.mkdir(parents=True, exist_ok=True)
                for page in shown.pages:
                    (out / f"page-{page.number}.jpg").write_bytes(page_out(there, car, paper, page.number).jpeg)
    output.show_json(shown) if as_json else _show_out(shown, out)


def _show_all(shown: CarPapers) -> None:
    for paper in shown.papers:
        _show_paper(paper)
        for read in paper.reads:
            _show_read(read)
    if not shown.papers:
        output.print_line("No papers were brought in yet.")
    else:
        output.print_line(f"{shown.waiting} {'waits' if shown.waiting == 1 else 'wait'} for somebody to decide.")


def _show_paper(paper: PaperLine) -> None:
    from shutline.usecases.paper_events import KINDS

    kind = KINDS[paper.kind] if paper.kind_said else f"{KINDS[paper.kind]}?"
    pages = f"{paper.pages_read} of {paper.pages} pages read"
    state = "counts" if paper.counts else "kept apart"
    out = ", goes out" if paper.out else ""
    output.print_line(output.printable(f"{paper.name}: {kind}, {pages}, {state}: {paper.why}{out}  {paper.id}"))


def _show_read(read: ReadLine) -> None:
    state = {ReadState.OPEN: "waits", ReadState.TAKEN: "taken", ReadState.STRUCK: "struck"}[read.state]
    what = f"{read.kind.value}{f' ({read.role})' if read.role else ''}"
    of = f", of {read.day}" if read.day and read.kind is not ReadKind.DATE else ""
    private = ", private" if read.private else ""
    told = f"  {what}: {read.value} {read.unit}".rstrip()
    output.print_line(output.printable(f"{told}{of}, page {read.page}, {state}{private}  {read.id}"))


def _show_came(came: PapersCame) -> None:
    for one in came.papers:
        if one.error is not None:
            output.show_problem(one.error)
            continue
        new = "" if one.new else ", known before"
        pages = f"{one.pages_read} of {one.pages} pages read"
        output.print_line(output.printable(f"{one.name}{new}: {pages}, {one.waiting} to decide  {one.paper}"))
        for problem in one.problems:
            output.show_problem(problem)
    if not came.papers:
        output.print_line("Nothing was left to read.")


def _show_out(shown: PaperOut, out: Path | None) -> None:
    state = "goes out" if shown.out else "was let out, and shows something else since" if shown.stale else "stays here"
    output.print_line(output.printable(f"{shown.name}: {state}  {shown.paper}"))
    for page in shown.pages:
        sight = ", read off its picture: look for handwriting" if page.by_sight else ""
        output.print_line(f"  page {page.number}: {len(page.boxes)} stretches are black{sight}")
    if out is not None:
        output.print_line(output.printable(f"Look at each page in {out}."))
    output.print_line(f"Its mark: {shown.mark[:16]}")


def _figures(text: str) -> list[float]:
    try:
        figures = [float(part) for part in text.split(",")]
    except ValueError:
        figures = []
    if len(figures) != 5 or figures[0] != int(figures[0]):
        raise _refused("paper-out", f"--cover {text[:60]!r}", "five figures such as 1,0.1,0.2,0.3,0.05")
    return figures


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("command-line", where, found, allowed, "Give it so; nothing was done."))
