"""Write a picture taken by hand as it may go out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.usecases.joined_pictures import picture_of
from shutline.usecases.kept_files import write_whole
from shutline.usecases.look import find_car
from shutline.usecases.masks import shown_told
from shutline.usecases.published_pictures import out_picture
from shutline.usecases.written import cannot_write

if TYPE_CHECKING:
    from shutline.publish.bare import Tells
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class PictureWritten:
    """A picture as it was written: JPEG, upright; width and height in pixels; `masks` says what is covered in it."""

    car: str
    picture: str
    path: str
    byte_size: int
    width: int
    height: int
    masks: tuple[str, ...] = ()


def write_picture(store: Store, car: str, picture: str, *, out: Path, tells: Tells | None = None) -> PictureWritten:
    """Write a picture as it may go out: covered where it must be, and telling nothing but what is asked for.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.
    picture : str
        Id of the picture, or a beginning of it that no other of this car has.
    out : Path
        Where it is written, as JPEG whatever its name.
    tells : Tells, optional
        What it may tell of place, device and time; nothing when left out.

    Raises
    ------
    NotFoundError
        No such car or picture, or its original is gone.
    BrokenWorldError
        It cannot be written.
    """
    file = find_car(store, car)
    kept = picture_of(file, picture)
    made = out_picture(store, file, kept, tells=tells)
    with cannot_write(out):
        write_whole(out, made.jpeg)
    masks = shown_told(store, file, [(kept.id, 0.0)])
    return PictureWritten(file.name, kept.id, str(out), len(made.jpeg), made.width, made.height, masks)
