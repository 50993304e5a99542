"""What was done of the preparation of a car: who ticked off which work, and when that puts a finding right."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from shutline.car.changes import Change
from shutline.car.findings import Footing, FootingKind, Remedy

RENEWS = frozenset({Remedy.REPLACE, Remedy.REPAIR})
"""What a job has to do so that what it is done to is renewed; else the fault is put right, and no more is said."""

_DONE = {
    Remedy.CLEAN: "cleaned",
    Remedy.POLISH: "polished",
    Remedy.REPAINT: "repainted",
    Remedy.REPAIR: "repaired",
    Remedy.REPLACE: "replaced",
    Remedy.ADJUST: "adjusted",
    Remedy.TREAT: "treated",
}


@dataclass(frozen=True, slots=True)
class PutRight:
    """That a finding was put right, and how.

    `work` is the id of the line that was done last, `task` that of the task, `words` what the job is called and
    `remedy` what it does (clean, polish, repaint, repair, replace, adjust, treat). `done_on` is an ISO 8601 day,
    `pictures` are the ids of pictures after it, `author` is who said so. It tells no hours and no money.
    """

    work: str
    task: str
    words: str
    remedy: str
    done_on: str
    pictures: tuple[str, ...] = ()
    author: str = ""


@dataclass(frozen=True, slots=True)
class WorkDone:
    """The work of one trade on one task, ticked off; kept and not holding once it was taken back.

    `task` and `job` are the ids of `prep`, and `words` and `remedy` what the job was called and does then; `findings`
    are the ids of those that the task cures. `trade` is empty where somebody says that the whole task is done; `needs`
    are all trades of the task. It is done at `places` of the `of_places` of the task; at fewer than all, it is not done
    yet. `hours` are those taken at these places together, without setting up, and `setup_hours` those of setting up;
    None where nobody noted them. `picture` is the id of a picture after it, or empty; `found` what was found besides,
    in words. `done_on` is an ISO 8601 day. `token` is what the last message about it was sent with, empty for none.
    """

    id: str
    task: str
    job: str
    words: str
    remedy: str
    findings: tuple[str, ...]
    trade: str
    needs: tuple[str, ...]
    hours: Decimal | None
    setup_hours: Decimal | None
    places: int
    picture: str
    found: str
    done_on: str
    holds: bool
    of_places: int = 1
    token: str = ""
    version: int = 1
    changes: tuple[Change, ...] = ()

    @property
    def author(self) -> str:
        """Who said so last."""
        return self.changes[-1].author if self.changes else ""

    @property
    def done(self) -> bool:
        """Tell whether it holds, and at all places."""
        return self.holds and self.places >= self.of_places


def sent_with(works: Iterable[WorkDone], token: str) -> WorkDone | None:
    """Give the line that a message with a token was about, whatever came after it; None for none, or for no token."""
    if not token:
        return None
    return next((one for one in works if any(change.after.get("token") == token for change in one.changes)), None)


def trades_done(works: Iterable[WorkDone], task: str, findings: Iterable[str]) -> frozenset[str]:
    """Give the trades that are done with a task for all of these findings; the empty name for the whole of it."""
    here = [one for one in works if one.done and one.task == task]
    every = set(findings)
    return frozenset(
        trade for trade in {one.trade for one in here} if every <= _findings(one for one in here if one.trade == trade)
    )


def task_done(works: Iterable[WorkDone], task: str, findings: Iterable[str], needs: Iterable[str]) -> bool:
    """Tell whether a task is done for all of these findings: each trade, or somebody said that the whole is."""
    known = tuple(works)
    return all(_covered(trades_done(known, task, (finding,)), needs) for finding in findings)


def put_right(works: Iterable[WorkDone]) -> dict[str, PutRight]:
    """Give what is put right, by the id of the finding: the first task that cures it and is done.

    A task is done for a finding once each of its trades is, or somebody said that the whole is.
    """
    of: dict[tuple[str, str], list[WorkDone]] = {}
    for one in works:
        if one.done:
            for finding in one.findings:
                of.setdefault((finding, one.task), []).append(one)
    right: dict[str, PutRight] = {}
    for (finding, _), lines in of.items():
        if _covered({one.trade for one in lines}, lines[-1].needs):
            right.setdefault(finding, _right(lines))
    return right


def done_words(right: PutRight) -> str:
    """Say what was done, as the author's word for it.

    >>> done_words(PutRight("w", "t", "weld in a patch", "repair", "2026-11-26"))
    'weld in a patch: repaired since'
    """
    done = next((words for remedy, words in _DONE.items() if remedy == right.remedy), "put right")
    return f"{right.words}: {done} since"


def footings_of(right: PutRight) -> tuple[Footing, ...]:
    """Give what it stands on that something was put right: the pictures after it, and the author's word as noted."""
    seen = tuple(Footing(FootingKind.SEEN, picture) for picture in right.pictures)
    return (*seen, Footing(FootingKind.SAID, right.work, quote=done_words(right)))


def _right(lines: Sequence[WorkDone]) -> PutRight:
    last = max(reversed(lines), key=lambda one: one.done_on)
    pictures = dict.fromkeys(one.picture for one in lines if one.picture)
    return PutRight(last.id, last.task, last.words, last.remedy, last.done_on, tuple(pictures), last.author)


def _covered(trades: Iterable[str], needs: Iterable[str]) -> bool:
    there = set(trades)
    return "" in there or (bool(there) and set(needs) <= there)


def _findings(works: Iterable[WorkDone]) -> set[str]:
    return {finding for one in works for finding in one.findings}
