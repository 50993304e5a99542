"""What a task that was done says of the car beside the faults it puts right: what was replaced or repaired is renewed.

Only a job that replaces or repairs makes a part renewed, as the vocabulary has the word: 'recently replaced, rebuilt,
restored or repaired'. After a clean, a polish, paint, an adjustment or a treatment the fault is put right, and no more
is said: the vocabulary has no word for it that would not claim more of the part than was done.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from shutline.car.findings import Finding, Found, State
from shutline.car.prep_done import RENEWS, WorkDone, done_words, footings_of, put_right

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.store import Store


def follow(store: Store, file: CarFile, before: Sequence[WorkDone], after: Sequence[WorkDone], *, author: str) -> None:
    """Let the findings that tell of renewed parts follow what was ticked off, or taken back.

    One is entered for each place of a task that replaces or repairs, once it is done. Taken back it is struck, and done
    again it stands again; what a person has struck meanwhile stays struck while nothing else changes.

    Parameters
    ----------
    store : Store
        Inside a write.
    file : CarFile
        As it was before.
    before, after : sequence of WorkDone
        The lines of the car before and after.
    author : str
        Who ticked off or took back.
    """
    kept = {one.id: one.finding for one in file.findings}
    was, now = _renewed(kept, before), _renewed(kept, after)
    for token, wanted in (was | now).items():
        if was.get(token) == now.get(token):
            continue
        there = store.add_finding(file.name, wanted, author=author, token=token)
        struck = there.finding.state is State.STRUCK
        if token not in now:
            if not struck:
                store.change_finding(there.id, action="strike", author=author, expected_version=there.version)
        elif token not in was or not struck:
            if struck:
                there = store.change_finding(there.id, action="restore", author=author, expected_version=there.version)
            if there.finding.footings != wanted.footings:
                store.change_finding(
                    there.id,
                    action="amend",
                    author=author,
                    expected_version=there.version,
                    footings=wanted.footings,
                    why=wanted.why,
                )


def _renewed(kept: Mapping[str, Finding], works: Sequence[WorkDone]) -> dict[str, Finding]:
    """Give what is renewed by work that is done, by a token for its task and place."""
    found = {}
    for id_, right in put_right(works).items():
        cured = kept.get(id_)
        if cured is not None and right.remedy in RENEWS:
            place = ".".join(word for word in (cured.part, cured.side, cured.position) if word)
            found[f"renewed {right.task} {place}"] = Finding(
                part=cured.part,
                side=cured.side,
                position=cured.position,
                condition="renewed",
                found=Found.YES,
                footings=footings_of(right),
                why=(f"entered when it was ticked off that it was {done_words(right)}",),
            )
    return found
