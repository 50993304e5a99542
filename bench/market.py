#!/usr/bin/env python3
"""How long a model of 5,000 comparables takes, with the price page of one car, against statsmodels' robust fit.

    python bench/market.py [--cars 5000] [--runs 5]

Target: under a second on one core. Cars are invented: 40 models of 8 kinds, age, mileage, condition, place, six years
of sales. The fit of statsmodels (RLM, Huber) is on the same columns, without those that others say already, and has no
prior, interval, bridge or years. The most to pay of the car, with the three figures that move it, is timed too.

Then the page: a store with the same prices, a car with a dozen findings, and 60 cars in the ledger. Cold is the first
time it is asked for in a process, warm when one figure was moved: as the workbench answers it, page and all.
"""

from __future__ import annotations

import argparse
import csv
import importlib
import io
import math
import os
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
from starlette.testclient import TestClient

from shutline.car.comparables import Comparable, Mileage
from shutline.ledger import Draft, Kind, Money, Party
from shutline.market.asking import Stock, asking_of
from shutline.market.columns import Car, dummies, table_of
from shutline.market.fetch import fetch_of
from shutline.market.linear import dependences
from shutline.market.most import Outlay, margin_tax, most_to_pay
from shutline.market.settings import market_settings
from shutline.prep.model import Range
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.comparables_intake import take_in
from shutline.usecases.ledger import enter_in_ledger
from shutline.usecases.price import keep_price
from shutline.web import Access, workbench

WORDS = """WEBVTT

00:00:01.000 --> 00:00:09.000
Sixty one thousand miles. There's a bubble of rust on the nearside front wing. The nearside sill has a hole in it.

00:00:10.000 --> 00:00:19.000
The bonnet is faded, that wants a polish. The brakes at the rear are worn. The seat is torn on the driver's side.

00:00:20.000 --> 00:00:29.000
The boot lid has a dent. The exhaust is blowing. The front bumper is scratched. The windscreen is chipped.

00:00:30.000 --> 00:00:39.000
The carpet is damp. The rear tyres are cracked. The offside door has rust along the bottom.
"""
TODAY = date(2026, 11, 1)
CAR = Car({"model": "model 7", "kind": "kind 7", "age": "44"}, Mileage(61_000), "tidy", "place 2")


def cars(count: int, seed: int = 7) -> list[Comparable]:
    """Make comparables."""
    source = np.random.default_rng(seed)
    worth = source.normal(size=40) * 0.5
    found = []
    for at in range(count):
        model, age = int(source.integers(40)), int(source.integers(30, 60))
        miles = float(source.integers(5_000, 150_000))
        condition = int(source.integers(5))
        log = 9 + worth[model] - 0.005 * miles / 1000 + 0.01 * age + 0.12 * condition + source.standard_t(4) * 0.15
        attributes = {"model": f"model {model}", "kind": f"kind {model % 8}", "age": str(age)}
        words = ("rough", "used", "fair", "tidy", "fine")[condition]
        day = TODAY - timedelta(days=int(source.integers(0, 2190)))
        price = Decimal(round(math.exp(log)))
        found.append(
            Comparable(
                day,
                price,
                sold=bool(source.random() < 0.7),
                car=f"car {at}",
                attributes=attributes,
                mileage=Mileage(miles),
                condition=words,
                where=f"place {at % 6}",
            )
        )
    return found


def best_of(runs: int, work: Callable[[], Any]) -> tuple[float, Any]:
    """Give the shortest processor time of several runs, and the last result."""
    times, result = [], None
    for _ in range(runs):
        start = time.process_time()
        result = work()
        times.append(time.process_time() - start)
    return min(times), result


def table(seen: list[Comparable]) -> str:
    """Write comparables as a table."""
    out = io.StringIO()
    rows = csv.writer(out)
    names = ("model", "kind", "age")
    rows.writerow(("when", "price", "sold", "car", "mileage", "condition", "where", *names))
    for one in seen:
        miles = round(one.mileage.value) if one.mileage else ""
        told = (one.when, one.price, "yes" if one.sold else "no", one.car, miles, one.condition, one.where)
        rows.writerow((*told, *(one.attributes[name] for name in names)))
    return out.getvalue()


def filled(folder: Path, seen: list[Comparable]) -> Store:
    """Make a store: prices, a car that was spoken of, and cars bought, half of them sold."""
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    store = Store.open(folder / "store")
    add(store, [words], car="bench", title="Model 7 of kind 7", by="bench")
    take_in(store, table(seen), name="prices.csv", author="bench")
    keep_price(store, "bench", attributes={"condition": "tidy", "where": "place 2"}, author="bench")
    party = Party("Tobias Wend", "3 Quillover Lane, Merrowby")
    for number in range(60):
        day = TODAY - timedelta(days=400 - 3 * number)
        bought = Draft(kind=Kind.PURCHASE, day=day, amount=Money.of("5000"), party=party, self_billed=True, what="it")
        enter_in_ledger(store, replace(bought, what=f"car {number}"), author="bench")
        if number % 2:
            sold = Draft(kind=Kind.SALE, day=day + timedelta(days=30), amount=Money.of("7000"), stock=number + 1)
            enter_in_ledger(store, replace(sold, party=party, paper=f"S{number}"), author="bench")
    return store


def page(seen: list[Comparable], runs: int) -> None:
    """Time the page of a price over HTTP's own application, without a socket."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SHUTLINE_SETTINGS"] = str(Path(folder) / "settings.toml")
        with filled(Path(folder), seen) as store:
            access = Access(hosts=frozenset({"127.0.0.1:8766"}), author="bench")
            client = TestClient(workbench(store, access), base_url="http://127.0.0.1:8766")
            client.get(f"/open/{access.token}", headers={"accept": "text/html"}, follow_redirects=False)

            def shown(days: int) -> float:
                start = time.process_time()
                answer = client.get(f"/cars/bench/price?kept=no&days={days}", headers={"accept": "text/html"})
                if answer.status_code != 200 or "The most to pay" not in answer.text:
                    raise SystemExit(f"the page was not shown: {answer.status_code}")
                return time.process_time() - start

            cold = shown(10)
            warm = min(shown(11 + run) for run in range(runs))
            print(f"page of a price, cold {cold:.2f} s, a figure moved {warm:.2f} s")


def main() -> None:
    """Time it and print the ratio."""
    sm = importlib.import_module("statsmodels.api")
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cars", type=int, default=5000)
    parser.add_argument("--runs", type=int, default=5)
    asked = parser.parse_args()
    seen = cars(asked.cars)
    ours, found = best_of(asked.runs, lambda: fetch_of(seen, [CAR], today=TODAY))
    fetch = found.cars[0]
    print(f"{asked.cars} cars, model and price page: {ours:.3f} s; {fetch.low:,} - {fetch.middle:,} - {fetch.high:,}")
    known = market_settings()
    table = table_of(seen, [CAR], today=TODAY, prior=known.prior, fitting=known.fitting, estimate_years=True)
    columns, names = dummies(table)
    said = {one.column for one in dependences(columns, names)}
    columns = columns[:, [name not in said for name in names]]
    values = np.log([float(one.price) for one in seen])
    theirs, _ = best_of(asked.runs, lambda: sm.RLM(values, columns, M=sm.robust.norms.HuberT(1.345)).fit())
    print(f"statsmodels RLM on {columns.shape[1]} columns: {theirs:.3f} s; ours takes {ours / theirs:.2f} times that")
    shares = [0.9 + 0.01 * (at % 25) for at in range(60)]
    stood = [Stock((20.0 + at) * one**6, sold=at % 5 > 0, asked=one) for at, one in enumerate(shares)]
    spent, asking = best_of(asked.runs, lambda: asking_of(fetch.prices, stood, holding=9.0))
    print(f"what to ask, 60 cars of stock: {spent:.3f} s; {asking.best.price:,}, then {asking.cut}")
    outlay = Outlay(Range(300, 800, 3000), Range(5, 40, 200), 9.0, 120.0, Range(80, 150, 300), Range(0, 150, 900))
    spent, most = best_of(asked.runs, lambda: most_to_pay(fetch.prices, outlay, allowed=0.1, tax=margin_tax(1, 6)))
    print(f"most to pay: {spent:.3f} s; {most.bid:,}, moved most by {', '.join(one.name for one in most.movers)}")
    page(seen, asked.runs)


if __name__ == "__main__":
    main()
