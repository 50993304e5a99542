"""The survey on the web: as `shutline to-show` tells it, shaded by pattern and word, left out with a reason."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Side
from shutline.car.plan.figure import SHADINGS
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.survey_plan import SHADES
from shutline.usecases.survey_view import survey_view

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/survey"


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.delenv("SHUTLINE_GUIDES", raising=False)
    return tmp_path / "own"


@pytest.fixture
def all_kinds(store: Store) -> Store:
    """The car with a footing of every kind, something said in passing, and something left out."""
    recording = store.car_file(CAR).recordings[0].id

    def on(kind: FootingKind) -> tuple[Footing, ...]:
        return (Footing(kind, "" if kind is FootingKind.SAID else recording, 1.0, 2.0, "words"),)

    kinds = FootingKind
    findings = [
        Finding("sill", "rust", Found.YES, Side.NEAR, footings=on(kinds.SAID)),
        Finding("roof", "sound", Found.YES, footings=(*on(kinds.SEEN), *on(kinds.SAID))),
        Finding("front_wing", "repaint", Found.YES, Side.OFF, footings=(*on(kinds.MEASURED), *on(kinds.SAID))),
        Finding("service_history", "works", Found.YES, footings=on(kinds.WRITTEN)),
        Finding("tyre", "crack", Found.YES, footings=on(kinds.SAID)),
        Finding("grille", "crack", Found.YES, footings=on(kinds.SAID)),
        Finding("engine", "leak", Found.NO, footings=on(kinds.SAID)),
        Finding("brakes", "renewed", Found.YES, None, Position.FRONT, footings=on(kinds.SAID)),
    ]
    store.put_findings(recording, findings)
    return store


def told(client: TestClient) -> dict[str, str]:
    return {one["key"]: one["cover"] for one in client.get(f"{AT}.json").json()["checks"]}


def form(client: TestClient, deed: str, **fields: str | list[str]) -> str:
    """Send a plain form as a browser without script does; give where it leads."""
    proof = client.headers.pop("shutline-proof")
    try:
        answer = client.post(f"{AT}/{deed}", data={"shutline-proof": proof, **fields})
    finally:
        client.headers["shutline-proof"] = proof
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_the_twin_is_what_the_command_prints(
    client: TestClient, all_kinds: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    store = ["--store", str(all_kinds.folder), "--json"]
    assert main(["to-show", CAR, *store]) == 0
    assert client.get(f"{AT}.json").json() == json.loads(capsys.readouterr().out)
    assert main(["to-show", CAR, "--raised", "no", "--minutes", "2", *store]) == 0
    assert client.get(f"{AT}.json?raised=no&minutes=2").json() == json.loads(capsys.readouterr().out)


def test_leaving_out_asking_again_and_the_guide_are_those_of_the_commands(
    client: TestClient, all_kinds: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    end = ["--store", str(all_kinds.folder), "--by", "Ida Quill", "--json"]
    for deed, sent, command in (
        (
            "leave-out",
            {"check": "fuel_tank", "reason": "drained"},
            ["leave-out", CAR, "fuel_tank", "--reason", "drained"],
        ),
        ("ask-again", {"check": "fuel_tank"}, ["ask-again", CAR, "fuel_tank"]),
        ("guide", {"guides": ["rear_engined"]}, ["guide", CAR, "rear_engined"]),
    ):
        answer = client.post(f"{AT}/{deed}", json=sent)
        assert answer.status_code == 200, answer.text
        assert main([*command, *end]) == 0
        assert answer.json() == json.loads(capsys.readouterr().out)
    assert {change.author for change in all_kinds.car_file(CAR).changes} == {"Ida Quill"}


def test_every_kind_of_footing_has_its_pattern_its_word_and_its_count(client: TestClient, all_kinds: Store) -> None:
    form(client, "leave-out", check="carpet", reason="it is out of the car")
    page = client.get(AT).text
    view = survey_view(all_kinds, CAR)
    assert [shade.id for shade in view.plan.shades] == list(SHADES)
    assert sum(shade.count for shade in view.plan.shades) == len(view.told.checks)
    for prefix in ("strip", "folded"):
        for shade in SHADES:
            word, pattern = SHADINGS[shade]
            assert f'id="{prefix}-{pattern}"' in page, "the pattern is drawn"
            assert f'fill="url(#{prefix}-{pattern})"' in page, f"{word} is on the Plan"
            assert f"</svg> {word} <span>" in page, "its word stands in the key"
    assert len({SHADINGS[shade][1] for shade in SHADES}) == len(SHADES)


def test_a_place_is_shaded_by_what_is_least_known_of_it_and_else_by_the_firmest(all_kinds: Store) -> None:
    spots = survey_view(all_kinds, CAR).plan.spots
    shades = {key: spots[key].shade for key in spots}
    assert shades["sill-near"] == "said"
    assert shades["roof"] == "seen", "seen is firmer than said"
    assert shades["front_wing-off"] == "measured"
    assert shades["sill-off"] == "silent"
    assert shades["tyre-front-near"] == "in_passing", "nobody said which tyre"
    assert shades["engine"] == "in_passing", "leaks are told, and what is heard of it is not"
    assert shades["grille"] == "said", "what nobody asked for is shaded too"
    assert spots["grille"].lines == ()
    assert spots["engine"].lines[0].words.startswith("spoken of, but not as to this")


def test_the_costliest_silence_leads_and_places_of_one_check_are_one_line(all_kinds: Store) -> None:
    view = survey_view(all_kinds, CAR)
    assert [band.id for band in view.bands] == ["ruinous", "large", "fair", "small", "trifle"]
    names = [entry.name for band in view.bands for entry in band.entries]
    assert "all four wheels" in names
    assert "offside sill" in names
    assert sum(len(entry.places) for band in view.bands for entry in band.entries) == len(view.told.second.route.steps)
    large = next(band for band in view.bands if band.safety)
    assert any(entry.safety and entry.when_bad.endswith("a small job") for entry in large.entries), (
        "what may hurt somebody stands among the large jobs, however little it costs"
    )


def test_what_is_left_out_says_why_and_who_and_comes_back(client: TestClient, all_kinds: Store) -> None:
    place = form(
        client, "leave-out", check="wheel-front-near wheel-rear-near", reason="slave <wheels>", then="show-wheel"
    )
    assert place == f"{AT}?done=left-out#show-wheel"
    covers = told(client)
    assert {key for key, cover in covers.items() if cover == "left out on purpose"} == {
        "wheel-front-near",
        "wheel-rear-near",
    }
    page = client.get(place).text
    assert re.search(r"<strong>[^<]*wheels?[^<]*</strong>: slave", page)
    assert "slave &lt;wheels&gt;" in page
    assert "(Ida Quill)" in page
    car = client.get(f"/cars/{CAR}").text
    assert "left out by Ida Quill: slave &lt;wheels&gt;" in car
    form(client, "ask-again", check="wheel-front-near wheel-rear-near", then="out")
    assert "left out on purpose" not in told(client).values()


def test_a_question_without_an_answer_stands_at_what_would_answer_it(client: TestClient, all_kinds: Store) -> None:
    from shutline.usecases.answering import ask

    ask(all_kinds, CAR, "Is there rust in the offside sill <b>?", author="Ada")
    entry = next(one for one in client.get(f"{AT}.json").json()["checks"] if one["key"] == "sill-off")
    assert entry["asked"] == ["Is there rust in the offside sill <b>?"]
    assert 'Asked: <q dir="auto">Is there rust in the offside sill &lt;b&gt;?</q>' in client.get(AT).text


def test_a_reason_is_wanted_and_a_check_that_is_asked(client: TestClient) -> None:
    for sent, slug, status in (
        ({"check": "sill-near", "reason": " "}, "omission-reason", 400),
        ({"check": "sledge", "reason": "x"}, "check-unknown", 404),
    ):
        answer = client.post(f"{AT}/leave-out", json=sent, headers={"accept": "*/*"})
        assert (answer.status_code, answer.json()["error"]["slug"]) == (status, slug)
    answer = client.post(f"{AT}/guide", json={"guides": ["sledge"]}, headers={"accept": "*/*"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "guide-unknown")
    for asked in ("raised=up", "minutes=many", "minutes=0", "minutes=nan"):
        answer = client.get(f"{AT}?{asked}")
        assert answer.status_code == 400
        assert "in the address" in answer.text
    assert client.get(f"{AT}/leave-out").headers["location"] == AT


def test_the_guide_is_chosen_with_what_drives_it_and_given_back(client: TestClient, own: Path) -> None:
    form(client, "guide", construction="rear_engined", drive=["air_cooled"], then="guide")
    page = client.get(AT).text
    assert "chosen by a person" in page
    assert re.search(r'<option value="rear_engined" selected>', page)
    assert re.search(r'value="air_cooled" checked', page)
    form(client, "guide", construction="", drive=["air_cooled"])
    assert "chosen by a person" not in client.get(AT).text
    (own / "guides").mkdir(parents=True)
    (own / "guides/pavane.toml").write_text(
        'id = "pavane"\nlabel = "Pavane & Co"\nsort = "construction"\nbuilds_on = "general"\nsource = "house"\n',
        encoding="utf-8",
    )
    assert '<option value="pavane">Pavane &amp; Co (yours)</option>' in client.get(AT).text


@pytest.mark.parametrize(("more", "name"), [("", "second-route"), ("?of=all&raised=no&minutes=9", "route")])
def test_a_route_is_handed_out_on_one_page(client: TestClient, more: str, name: str) -> None:
    answer = client.get(f"{AT}/route.pdf{more}")
    assert answer.headers["content-type"] == "application/pdf"
    assert f'attachment; filename="{CAR}-{name}.pdf"' in answer.headers["content-disposition"]
    assert answer.content.startswith(b"%PDF-1.7")
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", answer.content)) == 1


def test_there_is_one_way_in_from_all_pages_of_the_car(client: TestClient) -> None:
    for address in ("", "/review", "/outputs", "/survey"):
        assert f'href="{AT}"' in client.get(f"/cars/{CAR}{address}").text


def test_a_guide_that_cannot_be_used_is_told_with_file_and_line(client: TestClient, own: Path) -> None:
    (own / "guides").mkdir(parents=True)
    (own / "guides/pavane.toml").write_text('id = "pavane"\nlabel = 3\n', encoding="utf-8")
    answer = client.get(AT)
    assert answer.status_code == 400
    assert "pavane.toml, line" in answer.text
    assert client.get(f"/cars/{CAR}").status_code == 200
