"""How long the workbench takes to answer, with 10,000 cars and 1,000,000 findings, over HTTP on this machine.

    python bench/yard_of_10000.py --folder DIR
    python bench/workbench.py --folder DIR [--rounds 100]

The server runs as a process of its own, as `shutline serve` runs it. Each kind of page is asked for again and again,
each time of another car where it is of one car, and after each answer the same server is asked for a file of the same
size from a folder: the peer, which meets the same machine and shows what HTTP itself takes. Times are the client's,
from the request to the last byte, so a little more than the server's own. Says how busy the machine was: on one that
others use too, the times are theirs as much as ours; the server's processor time (median) and the ratios tell more.
"""

from __future__ import annotations

import argparse
import http.client
import itertools
import json
import math
import os
import random
import secrets
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from shutline.car.recordings import Kind, Original
from shutline.store import Store
from yard_of_10000 import HEAVY, SAID_OFTEN, Words

FILM = 2 * 1024**3
PIECE = 1024**2
FIRST = 256 * 1024
SETTLED_S = 5.0
PAGE_MS, PAGE_P95_MS, SEARCH_P95_MS, FILM_MS = 100.0, 250.0, 150.0, 300.0


@dataclass(frozen=True, slots=True)
class Asked:
    """One request: the address, the bytes wanted of it, and after how many bytes to hang up."""

    path: str
    wanted: str = ""
    enough: int | None = None


@dataclass(frozen=True, slots=True)
class Sort:
    """A kind of request: what is asked for by turns, and the most it may take (median and 95 of 100, ms)."""

    name: str
    asked: Iterator[Asked]
    median_ms: float = math.inf
    p95_ms: float = math.inf
    peer: str = ""


class Client:
    """A browser that was let in, with one connection kept open."""

    def __init__(self, link: str) -> None:
        host, self._way_in = link.removeprefix("http://").split("/", 1)
        self._connection = http.client.HTTPConnection(host)
        self._connection.request("GET", f"/{self._way_in}")
        answer = self._connection.getresponse()
        answer.read()
        self._cookie = str(answer.headers["set-cookie"]).split(";", 1)[0]

    def ask(self, asked: Asked) -> tuple[float, bytes]:
        """Give how long an answer took, milliseconds, and the answer; raises RuntimeError for any but a good one."""
        headers = {"cookie": self._cookie, "accept": "text/html,*/*"}
        if asked.wanted:
            headers["range"] = f"bytes={asked.wanted}"
        began = time.perf_counter()
        self._connection.request("GET", asked.path, headers=headers)
        answer = self._connection.getresponse()
        body = answer.read() if asked.enough is None else answer.read(asked.enough)
        took_ms = (time.perf_counter() - began) * 1000
        if answer.status not in {200, 206}:
            raise RuntimeError(f"{asked.path} was answered with {answer.status}: {body[:200]!r}")
        if asked.enough is not None:
            self._connection.close()
        return took_ms, body

    def rest(self, seconds: float) -> None:
        """Hang up, and ask nothing for so long."""
        self._connection.close()
        time.sleep(seconds)


def p95(times: list[float]) -> float:
    """Give the time that 95 of 100 do not exceed (nearest rank)."""
    return sorted(times)[math.ceil(0.95 * len(times)) - 1]


def serve(folder: Path, peer: Path) -> None:
    """Serve the workbench and, beside it, a folder of files, until ended; print the link."""
    import uvicorn
    from starlette.routing import Mount
    from starlette.staticfiles import StaticFiles

    from shutline.web import Access, workbench
    from shutline.web.serving import listen, warm_up

    listener = listen("127.0.0.1", 0)
    listener.listen()
    host = f"127.0.0.1:{listener.getsockname()[1]}"
    access = Access(hosts=frozenset({host}), author="Ida Quill")
    with Store.open(folder) as store:
        app = workbench(store, access)
        app.router.routes.append(Mount("/peer", StaticFiles(directory=peer)))
        config = uvicorn.Config(app, log_level="warning", server_header=False, date_header=False, ws="none")
        print(f"http://{host}/open/{access.token}", flush=True)
        threading.Thread(target=warm_up, args=(store,), daemon=True).start()
        uvicorn.Server(config).run(sockets=[listener])


@contextmanager
def running(folder: Path, peer: Path) -> Iterator[tuple[str, int]]:
    """Run the server; gives its link and the number of its process."""
    command = [sys.executable, __file__, "--folder", str(folder), "--serve", str(peer)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout is not None  # noqa: S101
            yield server.stdout.readline().strip(), server.pid
        finally:
            server.terminate()


def memory_mb(process: int) -> tuple[float, float] | None:
    """Give what a process holds now and held at most, megabytes; None where the system does not tell."""
    try:
        lines = Path(f"/proc/{process}/status").read_text(encoding="ascii").splitlines()
    except OSError:
        return None
    told = dict(line.split(":", 1) for line in lines if ":" in line)
    return tuple(int(told[name].split()[0]) / 1024 for name in ("VmRSS", "VmHWM"))  # type: ignore[return-value]


def processor_ms(process: int) -> float:
    """Give the processor time of all threads of a process, milliseconds; 0 where the system does not tell."""
    spent = 0
    for task in Path(f"/proc/{process}/task").glob("*/schedstat"):
        try:
            spent += int(task.read_text(encoding="ascii").split()[0])
        except OSError:
            continue
    return spent / 1e6


def first_car(folder: Path) -> Iterator[Asked]:
    """Ask for the page of a usual car that is not the newest."""
    with closing(sqlite3.connect(folder / "shutline.sqlite")) as connection:
        query = "SELECT name FROM car WHERE heard_count + stands_count + struck_count < 200 ORDER BY id LIMIT 1"
        yield Asked(f"/cars/{connection.execute(query).fetchone()[0]}")


def sorts(folder: Path, seed: int) -> list[Sort]:
    """Say what is asked."""
    chance = random.Random(seed)  # noqa: S311
    with closing(sqlite3.connect(folder / "shutline.sqlite")) as connection:
        counted = "SELECT name, heard_count + stands_count + struck_count FROM car"
        counts = dict(connection.execute(counted).fetchall())
    # Some of any 200 have 1,000 findings, as in the yard.
    usual = list(counts)
    heavy = [name for name, count in counts.items() if count == HEAVY]
    chance.shuffle(usual)
    words = Words(seed).all
    middling, rare = words[len(SAID_OFTEN) + 100 : len(SAID_OFTEN) + 1_000], words[-5_000:]

    def some(make: Callable[[], str]) -> Iterator[Asked]:
        return (Asked(make()) for _ in itertools.count())

    def search(make: Callable[[], str]) -> Iterator[Asked]:
        return some(lambda: f"/yard?words={make().replace(' ', '+')}")

    def cars(names: list[str], ending: str = "") -> Iterator[Asked]:
        return (Asked(f"/cars/{name}{ending}") for name in itertools.cycle(names))

    page = (PAGE_MS, PAGE_P95_MS)
    found = (math.inf, SEARCH_P95_MS)
    last = len(counts) - 50
    return [
        Sort("yard, the first page (50 cars of 1,000 findings)", itertools.repeat(Asked("/yard")), *page),
        Sort("yard, any page", some(lambda: f"/yard?skip={chance.randrange(last)}"), *page),
        Sort(
            "yard, cars with findings to look at", some(lambda: f"/yard?open=heard&skip={chance.randrange(50)}"), *page
        ),
        Sort("yard as JSON", some(lambda: f"/yard.json?skip={chance.randrange(last)}"), *page),
        Sort("car, another each time", cars(usual), *page),
        Sort("car as JSON", cars(usual[::-1], ".json"), *page),
        Sort("car of 1,000 findings", cars(heavy), *page),
        Sort("car of 1,000 findings, 100 more of them", cars(heavy, "/found?first=500"), *page),
        Sort("car of 1,000 findings, its Plan", cars(heavy, "/plan.json?recording=1&form=far"), *page),
        Sort("car, its Plan", cars(usual, "/plan.json?recording=1&form=far"), *page),
        Sort("sheet of a body", itertools.repeat(Asked("/sheets/strip.svg?body=saloon&doors=4&drive=rhd")), *page),
        Sort("car of 1,000 findings as JSON", cars(heavy, ".json"), *page),
        Sort("search, a word of nearly all cars", search(lambda: chance.choice(SAID_OFTEN)), *found),
        Sort("search, a word of many cars", search(lambda: chance.choice(middling)), *found),
        Sort("search, a rare word", search(lambda: chance.choice(rare)), *found),
        Sort("search, the number of one car", search(lambda: str(chance.randint(1_000, 9_999))), *found),
        Sort("search, three words", search(lambda: " ".join(chance.sample(middling, 3))), *found),
        Sort("search, a common and a rare word", search(lambda: f"the {chance.choice(rare)}"), *found),
        Sort("search, four letters", search(lambda: chance.choice(middling)[:4]), *found),
        Sort("search, two letters", search(lambda: chance.choice(words)[:2]), *found),
        Sort("search, one letter", search(lambda: chance.choice("abcdefghijklmnoprstuvwy")), *found),
        Sort("search, part and flaw", search(lambda: chance.choice(("rust sill", "bonnet dent", "tyre worn"))), *found),
        Sort("search, a word nobody said", search(lambda: f"zq{chance.randint(1, 99)}"), *found),
    ]


def film(client: Client, folder: Path, film: Path, *, rounds: int, seed: int) -> list[Sort]:
    """Say what is asked of a film of 2 GB; it is linked, and holds nothing."""
    sha256 = secrets.token_hex(32)
    with Store.open(folder) as store:
        linked = Original(sha256, film.name, FILM, Kind.FILM, linked=True)
        store.add_original(linked, linked_path=film)
    chance = random.Random(seed)  # noqa: S311
    starts = [chance.randrange(FILM - PIECE) for _ in range(2 * rounds + 10)]
    address, limit = f"/originals/{sha256}", (FILM_MS, FILM_MS)
    peer = f"/peer/{film.name}"
    client.ask(Asked(address, "0-0"))
    return [
        Sort(
            "film of 2 GB, a megabyte from anywhere",
            (Asked(address, f"{start}-{start + PIECE - 1}") for start in starts),
            *limit,
            peer=peer,
        ),
        Sort(
            "film of 2 GB, from anywhere on, the first 256 kB",
            (Asked(address, f"{start}-", FIRST) for start in starts),
            *limit,
            peer=peer,
        ),
    ]


def measure(client: Client, sort: Sort, peer: Path, *, rounds: int, process: int) -> bool:
    """Ask, print one line of the table, and tell whether it was quick enough."""
    sizes = [len(client.ask(next(sort.asked))[1]) for _ in range(5)]
    size = int(statistics.median(sizes))
    if not sort.peer:
        (peer / f"{size}.bin").write_bytes(random.Random(size).randbytes(size))  # noqa: S311
    times, peers, spent = [], [], []
    for _ in range(rounds):
        asked = next(sort.asked)
        before = processor_ms(process)
        times.append(client.ask(asked)[0])
        spent.append(processor_ms(process) - before)
        other = Asked(sort.peer, asked.wanted, asked.enough) if sort.peer else Asked(f"/peer/{size}.bin")
        peers.append(client.ask(other)[0])
    middle, high, beside = statistics.median(times), p95(times), statistics.median(peers)
    good = middle <= sort.median_ms and high <= sort.p95_ms
    waited = f"{size / 1000:,.0f} | {middle:.1f} | {high:.1f} | {statistics.median(spent):.1f}"
    figures = f"{waited} | {beside:.1f} | {middle / beside:.1f}"
    print(f"| {sort.name} | {figures} | {'yes' if good else 'no'} |", flush=True)
    return good


def words_behind(folder: Path) -> int:
    """Let the words of all cars of 1,000 findings count as old; gives how many there are."""
    with closing(sqlite3.connect(folder / "shutline.sqlite")) as connection:
        heavy = "SELECT id FROM car WHERE heard_count + stands_count + struck_count = ?"
        changed = connection.execute(f"UPDATE car_words SET as_of = '' WHERE car_id IN ({heavy})", (HEAVY,))  # noqa: S608
        connection.commit()
        return changed.rowcount


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--folder", type=Path, required=True, help="made by yard_of_10000.py")
    parser.add_argument("--rounds", type=int, default=100)
    parser.add_argument("--only", default="", help="kinds whose name holds these words")
    parser.add_argument("--seed", type=int, default=4)
    parser.add_argument("--serve", type=Path, help=argparse.SUPPRESS)
    wanted = parser.parse_args()
    if wanted.serve is not None:
        serve(wanted.folder, wanted.serve)
        return 0
    good = True
    # Upgraded here if need be, so that it is not counted.
    Store.open(wanted.folder).close()
    with tempfile.TemporaryDirectory() as name:
        peer = Path(name)
        long = peer / "walk.mp4"
        with long.open("wb") as file:
            file.truncate(FILM)
        with running(wanted.folder, peer) as (link, process):
            client = Client(link)
            print(
                f"processors {os.cpu_count()}, load {os.getloadavg()[0]:.1f}, memory of the server (MB now, at most):"
            )
            first_ms, page = client.ask(next(first_car(wanted.folder)))
            print(
                f"at the start {memory_mb(process)}; "
                f"the first page of a car ({len(page) // 1000} kB): {first_ms:.0f} ms"
            )
            client.rest(SETTLED_S)
            print(f"when it has settled {memory_mb(process)}\n")
            print(
                "| asked for | kB | median ms | 95 of 100 ms | processor ms | file of that size, ms | ratio |"
                " quick enough |"
            )
            print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | --- |")
            for sort in sorts(wanted.folder, wanted.seed):
                if wanted.only in sort.name:
                    good &= measure(client, sort, peer, rounds=wanted.rounds, process=process)
                    if sort.name.startswith(("yard as JSON", "car of 1,000 findings as", "search, a word nobody")):
                        print(f"<!-- memory {memory_mb(process)} -->", flush=True)
            if "film".startswith(wanted.only[:4]):
                for sort in film(client, wanted.folder, long, rounds=wanted.rounds, seed=wanted.seed):
                    good &= measure(client, sort, peer, rounds=wanted.rounds, process=process)
                print(f"<!-- memory {memory_mb(process)} -->")
            if "search".startswith(wanted.only[:6]):
                behind = words_behind(wanted.folder)
                for turn in itertools.count(1):
                    took_ms, body = client.ask(Asked("/yard.json?words=there"))
                    left = json.loads(body)["behind"]
                    print(f"{behind} cars changed, search {turn}: {took_ms:.0f} ms, {left} left for the next")
                    if not left:
                        break
            print(f"load at the end {os.getloadavg()[0]:.1f}")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
