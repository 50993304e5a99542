"""From one filmed walk round an old car to a car file in which every sentence has a footing.

As a library: open a store, bring recordings in, look at the car file, write what goes out.

    from pathlib import Path
    import shutline

    with shutline.open_store(Path("store")) as store:
        shutline.add(store, [Path("walk.mp4")], car="blue-saloon")
        shown = shutline.show_car(store, "blue-saloon")
        shutline.make_report(store, "blue-saloon", out=Path("blue"))

`read` takes words to findings without a store. Everything is loaded when it is first used.
"""

from typing import TYPE_CHECKING, Any

from shutline.car.version import VERSION

if TYPE_CHECKING:
    from shutline.remarks.reader import read as read
    from shutline.usecases.add import add as add
    from shutline.usecases.look import list_cars as list_cars
    from shutline.usecases.look import show_car as show_car
    from shutline.usecases.read import read_transcript as read_transcript
    from shutline.usecases.report import make_report as make_report
    from shutline.usecases.settings import open_store as open_store

__version__ = VERSION

_WHERE = {
    "add": "usecases.add",
    "list_cars": "usecases.look",
    "make_report": "usecases.report",
    "open_store": "usecases.settings",
    "read": "remarks.reader",
    "read_transcript": "usecases.read",
    "show_car": "usecases.look",
}

__all__ = ["__version__", "add", "list_cars", "make_report", "open_store", "read", "read_transcript", "show_car"]


def __getattr__(name: str) -> Any:
    """Load a function when it is first asked for: the libraries under some of them are slow to load."""
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
