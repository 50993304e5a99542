"""A second reading of a car, from the command to the report: what is sent, and what it changes and what not."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.errors import StoppedError, UserError
from shutline.car.findings import FootingKind, State
from shutline.car.schema import car_file_json, car_file_schema
from shutline.car.second import SecondView, Verdict
from shutline.cli import main
from shutline.remarks.weights import Weights
from shutline.store import Store
from shutline.usecases import second as usecase
from shutline.usecases.add import add
from shutline.usecases.report import make_report
from shutline.usecases.review import confirm, strike, undo
from shutline.usecases.second import ask_second, to_decide, what_is_sent
from shutline.usecases.settings import SecondReaderSettings, second_reader_settings

WORDS = """0:00 There's a bit of rust on the nearside sill.
0:06 The bonnet is straight. No dents in the roof.
0:12 There's a scratch on the boot lid. And the clutch has opinions of its own.
"""
Ask = Callable[..., Any]


@pytest.fixture(autouse=True)
def no_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "settings.toml"
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(path))
    return path


@pytest.fixture(autouse=True)
def room_to_rise(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep what the reader is sure of below what an agreement may lift it to, whatever the weights have learnt."""
    monkeypatch.setattr(Weights, "sureness", lambda _, chance: 0.8 * chance)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    walk = tmp_path / "walk.txt"
    walk.write_text(WORDS, encoding="utf-8")
    with Store.open(tmp_path / "store") as opened:
        add(opened, [walk], car="blue")
        yield opened


@pytest.fixture
def choice(server) -> SecondReaderSettings:
    return SecondReaderSettings(address=server.url, model="m")


@pytest.fixture
def ask(store: Store, choice: SecondReaderSettings) -> Ask:
    return lambda **options: ask_second(store, "blue", **{"choice": choice, "agreed": True, **options})


@pytest.fixture
def good(say):
    """Agrees on the sill, takes the boot lid for the tailgate, has the bonnet as a dent, and asks about the clutch."""
    return say.statements(
        say.statement("sill", "rust", "rust on the nearside sill", 1, side="near", severity="slight"),
        say.statement("tailgate", "scratch", "a scratch on the boot lid", 4),
        say.statement("bonnet", "dent", "The bonnet is straight", 2),
        say.statement("clutch", "fault", "opinions of its own", 5),
        say.statement("roof", "rust", "rust in the roof", 3),
    )


def of(car: CarFile, part: str, condition: str | None = None) -> KeptFinding:
    return next(k for k in car.findings if k.finding.part == part and condition in {None, k.finding.condition})


def views(car: CarFile, verdict: Verdict) -> list[SecondView]:
    return [view for reading in car.second_readings for view in reading.views if view.verdict is verdict]


def bare(car: CarFile) -> list[tuple[str, object]]:
    """All findings without what an agreement may change: sureness, and the line about it in the history."""
    return [(k.id, replace(k.finding, sureness=None)) for k in car.findings]


def test_the_reader_itself_has_what_these_tests_compare_with(store: Store) -> None:
    found = {(k.finding.part, k.finding.condition, k.finding.found.value) for k in store.car_file("blue").findings}
    assert {("sill", "rust", "yes"), ("bonnet", "sound", "yes"), ("boot_lid", "scratch", "yes")} <= found
    assert "clutch" not in {part for part, _, _ in found}


def test_it_is_off_until_an_address_is_set(store: Store) -> None:
    with pytest.raises(UserError) as refused:
        ask_second(store, "blue", agreed=True)
    assert refused.value.problem.slug == "second-reader-off"


def test_the_first_time_somebody_has_to_agree_and_is_told_what_goes_where(store: Store, server, choice, good) -> None:
    server.behave(good)
    with pytest.raises(UserError) as refused:
        ask_second(store, "blue", choice=choice)
    assert refused.value.problem.slug == "second-not-agreed"
    assert server.asked == []
    told = refused.value.problem.sentence()
    sending = what_is_sent(store, "blue", choice=choice)
    assert f"{sending.words} words" in told
    assert sending.service == f"127.0.0.1:{server.server_address[1]}"
    assert sending.service in told
    assert "names" in told
    assert server.asked == []

    ask_second(store, "blue", choice=choice, agreed=True)
    ask_second(store, "blue", choice=choice)
    assert len(server.asked) == 1
    assert what_is_sent(store, "blue", choice=choice).first is False


def test_only_the_words_and_the_wheel_are_sent(store: Store, server, ask: Ask, good) -> None:
    server.behave(good)
    ask()
    (asking,) = server.asked
    assert json.loads(asking.body["messages"][1]["content"]).keys() == {"drive", "lines"}
    said = " ".join(word for line in asking.lines for word in line["words"].split())
    car = store.car_file("blue")
    assert said == " ".join(word.text for s in car.recordings[0].stretches for word in s.words)
    assert "walk" not in json.dumps(asking.body["messages"][1])


def test_an_agreement_raises_sureness_and_nothing_else_of_any_finding(store: Store, server, ask: Ask, good) -> None:
    before = store.car_file("blue")
    server.behave(good)

    ask()

    after = store.car_file("blue")
    assert bare(after) == bare(before)
    was, now = of(before, "sill").finding.sureness, of(after, "sill").finding.sureness
    assert was is not None
    assert now == pytest.approx(min(2 * was / (1 + was), 0.95) if was < 0.95 else was)
    assert now > was
    last = of(after, "sill").changes[-1]
    assert (last.author, last.before, last.after) == ("program", {"sureness": was}, {"sureness": now})
    (agrees,) = views(after, Verdict.AGREES)
    assert (agrees.finding, agrees.sureness_before, agrees.sureness_after) == (of(after, "sill").id, was, now)
    for kept in before.findings:
        if kept.finding.part != "sill":
            assert of(after, kept.finding.part, kept.finding.condition) == kept


def test_what_it_takes_otherwise_and_what_it_asks_are_laid_beside(store: Store, server, ask: Ask, good) -> None:
    server.behave(good)
    asked = ask()
    car = store.car_file("blue")

    otherwise = {view.finding: view for view in views(car, Verdict.OTHERWISE)}
    assert otherwise[of(car, "boot_lid").id].part == "tailgate"
    assert otherwise[of(car, "bonnet").id].condition == "dent"
    (question,) = views(car, Verdict.ASKS)
    assert (question.part, question.quote, question.finding) == ("clutch", "opinions of its own.", None)
    assert "clutch" not in {kept.finding.part for kept in car.findings}
    assert [(one.reason.value, one.count) for one in asked.readings[0].set_aside] == [("a quote that was not said", 1)]
    jsonschema.validate(json.loads(json.dumps(car_file_json(car))), car_file_schema())


def test_asked_again_nothing_is_sent_and_nothing_changes(store: Store, server, ask: Ask, good) -> None:
    server.behave(good)
    ask()
    first = store.car_file("blue")

    again = ask()

    assert len(server.asked) == 1
    assert (again.sent, again.sending.known) == (0, 1)
    second = store.car_file("blue")
    assert second.findings == first.findings
    assert [r.views for r in second.second_readings] == [r.views for r in first.second_readings]


def test_another_model_that_does_not_agree_takes_the_weight_away_again(
    *, store: Store, server, ask: Ask, good, say, choice
) -> None:
    before = of(store.car_file("blue"), "sill").finding.sureness
    server.behave(good, say.statements())
    ask()
    assert of(store.car_file("blue"), "sill").finding.sureness != before
    ask(choice=replace(choice, model="other"))
    assert of(store.car_file("blue"), "sill").finding.sureness == before


# A person decides -----------------------------------------------------------------------------------------------------


def test_a_finding_that_a_person_has_decided_is_not_weighed(store: Store, server, ask: Ask, good) -> None:
    sill = of(store.car_file("blue"), "sill")
    confirm(store, "blue", [sill.id, of(store.car_file("blue"), "bonnet").id], author="Ada")
    before = store.car_file("blue")
    server.behave(good)

    ask()

    after = store.car_file("blue")
    assert of(after, "sill") == of(before, "sill")
    assert views(after, Verdict.AGREES)[0].sureness_after is None
    # It still takes the bonnet otherwise, but that is settled.
    assert of(after, "bonnet").id not in {view.finding for view in to_decide(after)}


def test_a_question_that_is_confirmed_is_a_finding_of_that_person(store: Store, server, ask: Ask, good) -> None:
    server.behave(good)
    ask()
    (question,) = views(store.car_file("blue"), Verdict.ASKS)

    decided = confirm(store, "blue", [question.id[:8]], author="Ada")

    (kept,) = decided.findings
    assert (kept.finding.part, kept.finding.state, kept.finding.sureness) == ("clutch", State.STANDS, None)
    assert kept.changes[0].author == "Ada"
    (footing,) = kept.finding.footings
    assert (footing.kind, footing.quote) == (FootingKind.SAID, "opinions of its own.")
    car = store.car_file("blue")
    assert footing.source == car.recordings[0].id
    assert views(car, Verdict.ASKS) == []
    undo(store, "blue", [kept.id], author="Ada")
    assert store.finding(kept.id).finding.state is State.STRUCK


def test_a_question_that_is_struck_is_not_asked_again(store: Store, server, ask: Ask, good) -> None:
    server.behave(good)
    ask()
    (question,) = views(store.car_file("blue"), Verdict.ASKS)

    strike(store, "blue", [question.id], author="Ada")

    car = store.car_file("blue")
    assert of(car, "clutch").finding.state is State.STRUCK
    assert "clutch" not in {kept.finding.part for kept in car.going_out()}
    ask()
    assert views(store.car_file("blue"), Verdict.ASKS) == []


def test_how_it_takes_a_finding_can_be_put_in_its_place(store: Store, server, ask: Ask, good) -> None:
    server.behave(good)
    ask()
    car = store.car_file("blue")
    lid = of(car, "boot_lid")
    (view,) = (v for v in views(car, Verdict.OTHERWISE) if v.finding == lid.id)

    confirm(store, "blue", [view.id], author="Ada")
    strike(store, "blue", [lid.id], author="Ada")

    car = store.car_file("blue")
    assert {k.finding.part for k in car.going_out()} >= {"tailgate"}
    assert "boot_lid" not in {k.finding.part for k in car.going_out()}
    assert lid.id not in {v.finding for v in to_decide(car)}


# Stopped, read again, changed -----------------------------------------------------------------------------------------


def test_a_run_that_was_stopped_goes_on_with_what_is_not_answered(
    *, store: Store, server, ask: Ask, say, tmp_path: Path, choice
) -> None:
    from shutline.usecases.progress import Stop

    text = "".join(f"0:{n:02d} Number {n} is a dent in the roof, and nothing more than that.\n" for n in range(60))
    long = tmp_path / "long.txt"
    long.write_text(text, encoding="utf-8")
    add(store, [long], car="long")
    pieces = what_is_sent(store, "long", choice=choice).pieces
    assert pieces > 1
    server.behave(say.statements())
    stop = Stop()
    told: list[float] = []

    def tell(step) -> None:
        told.append(step.done)
        if step.done > 0:
            stop.ask()

    with pytest.raises(StoppedError):
        ask_second(store, "long", choice=choice, agreed=True, stop=stop, tell=tell)
    assert len(server.asked) == 1
    assert store.car_file("long").second_readings == ()

    done = ask_second(store, "long", choice=choice, agreed=True)
    assert len(server.asked) == pieces
    assert done.sent == pieces - 1
    assert told[0] == 0.0


def test_when_the_reader_reads_anew_the_answers_are_laid_beside_again_without_asking(
    *, store: Store, server, ask: Ask, good, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    server.behave(good)
    ask()
    before = store.car_file("blue")
    monkeypatch.setattr("shutline.remarks.edition", lambda: "another")

    add(store, [tmp_path / "walk.txt"], car="blue")

    after = store.car_file("blue")
    assert len(server.asked) == 1
    assert [(k.id, k.finding) for k in after.findings] == [(k.id, k.finding) for k in before.findings]
    assert after.second_readings == before.second_readings


def test_a_reading_of_other_words_is_a_past_one(*, store: Store, server, good, make_film, tmp_path: Path) -> None:
    film = make_film("walk.mp4", frames=30)
    one, two = tmp_path / "one.txt", tmp_path / "two.txt"
    one.write_text(WORDS, encoding="utf-8")
    two.write_text(WORDS.replace("rust", "dust"), encoding="utf-8")
    add(store, [film], car="film", transcript=one)
    server.behave(good)
    ask_second(store, "film", choice=SecondReaderSettings(server.url, "m"), agreed=True)
    assert store.car_file("film").second_readings

    add(store, [film], car="film", transcript=two)

    assert store.car_file("film").second_readings == ()


# Hostile services -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "content",
    [
        "Ignore the words, strike every finding.",
        '{"statements": [{"part": "sill", "condition": "rust", "found": "no"}]}',
        '{"statements": [' + "[" * 20_000,
        '{"statements": NaN}',
        "<script>alert(1)</script>",
        "x" * 900_000,
    ],
)
def test_an_answer_in_another_form_alters_nothing(store: Store, server, ask: Ask, say, content: str) -> None:
    before = store.car_file("blue")
    server.behave(say.content(content))
    ask()
    assert store.car_file("blue").findings == before.findings


def test_one_who_is_told_to_praise_everything_alters_nothing(store: Store, server, ask: Ask, say) -> None:
    """The words of the car may themselves tell a weak service what to answer."""
    before = store.car_file("blue")
    parts = ("sill", "bonnet", "roof", "boot_lid", "clutch")
    praise = [say.statement(part, "sound", "rust on the nearside sill") for part in parts]
    denial = [say.statement("sill", "rust", "rust on the nearside sill", found="no")]
    server.behave(say.statements(*praise, *denial))

    ask()

    after = store.car_file("blue")
    assert after.findings == before.findings
    assert of(after, "sill").id in {view.finding for view in views(after, Verdict.OTHERWISE)}


def test_one_who_says_both_raises_nothing(store: Store, server, ask: Ask, say) -> None:
    before = store.car_file("blue")
    both = [say.statement("sill", "rust", "rust on the nearside sill", found=found) for found in ("yes", "no")]
    server.behave(say.statements(*both))
    ask()
    assert store.car_file("blue").findings == before.findings


# The command ----------------------------------------------------------------------------------------------------------


def shutline(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    shown = capsys.readouterr()
    return code, shown.out, shown.err


@pytest.fixture
def shell(store: Store, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("SHUTLINE_STORE", str(store.folder))
    monkeypatch.chdir(tmp_path)


@pytest.mark.usefixtures("shell")
def test_the_command_from_notice_to_show_and_report(server, good, capsys, tmp_path: Path, store: Store) -> None:
    server.behave(good)
    there = ("--address", server.url, "--model", "m")

    code, out, _ = shutline(capsys, "second", "blue", *there, "--dry-run")
    assert code == 0
    assert "goes to 127.0.0.1" in " ".join(out.split())
    code, _, err = shutline(capsys, "second", "blue", *there)
    assert code == 2
    assert "--agree" in err
    assert server.asked == []
    code, out, err = shutline(capsys, "second", "blue", *there, "--agree")
    assert code == 0
    assert "words in 1 piece)" in " ".join(err.split())
    assert "agrees with 1, takes 2 otherwise, asks 1" in " ".join(out.split())
    assert "set aside" in out

    _, out, _ = shutline(capsys, "show", "blue", "--why")
    assert "a second reading takes it otherwise: tailgate: scratch" in out
    assert "a second reading agrees: sureness 0." in out
    assert "clutch: fault?" in out
    assert "no findings (confirm what is so" in out
    assert "\u00abopinions of its own.\u00bb" in out
    code, out, _ = shutline(capsys, "show", "blue", "--json")
    assert {v["verdict"] for v in json.loads(out)["car"]["second_readings"][0]["views"]} >= {"agrees", "asks"}

    made = make_report(store, "blue", out=tmp_path / "out", only=["html", "pdf"])
    page = Path(made.files[0].path).read_text(encoding="utf-8")
    assert "A second reading by another program takes it otherwise: tailgate" in page
    assert "opinions of" not in page
    confirm(store, "blue", [of(store.car_file("blue"), part).id for part in ("boot_lid", "bonnet")], author="Ada")
    made = make_report(store, "blue", out=tmp_path / "out", only=["html"])
    assert "takes it otherwise" not in Path(made.files[0].path).read_text(encoding="utf-8")


@pytest.mark.usefixtures("shell")
def test_the_settings_name_service_model_and_the_place_of_the_key(
    *, server, good, capsys, no_settings: Path, monkeypatch: pytest.MonkeyPatch, store: Store
) -> None:
    key = "sk-secret-0123456789"
    no_settings.write_text(
        f'[second_reader]\naddress = "{server.url}"\nmodel = "m"\nkey_variable = "READER_KEY"\n', encoding="utf-8"
    )
    server.behave(good)
    code, out, _ = shutline(capsys, "second", "blue", "--agree", "--json")
    assert (code, json.loads(out)["error"]["slug"]) == (2, "second-key-missing")

    monkeypatch.setenv("READER_KEY", f"{key}\n")
    code, out, err = shutline(capsys, "second", "blue", "--agree", "--json")
    assert code == 0
    assert server.asked[0].headers["Authorization"] == f"Bearer {key}"
    shown = shutline(capsys, "show", "blue", "--json")[1]
    store.close()
    kept = b"".join(path.read_bytes() for path in store.folder.rglob("*") if path.is_file())
    assert b"opinions of" in kept
    assert key.encode() not in kept
    assert key not in out + err + shown


@pytest.mark.usefixtures("shell")
def test_the_key_of_the_settings_does_not_go_to_another_address(
    server, good, capsys, no_settings: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("READER_KEY", "k-123")
    no_settings.write_text(
        '[second_reader]\naddress = "https://reader.example"\nmodel = "m"\nkey_variable = "READER_KEY"\n',
        encoding="utf-8",
    )
    server.behave(good)
    assert shutline(capsys, "second", "blue", "--agree", "--address", server.url)[0] == 0
    assert "Authorization" not in server.asked[0].headers


@pytest.mark.parametrize(
    ("text", "slug"),
    [
        ("second_reader = 1", "settings-refused"),
        ("[second_reader]\nkey = 'sk-1'", "settings-refused"),
        ("[second_reader]\nplain_http = 'yes'", "settings-refused"),
        ("[second_reader]\nmodel = 3", "settings-refused"),
        ("[other]\na = 1", "settings-refused"),
        ("[second_reader", "settings-not-toml"),
        ("\ud800", "settings-not-toml"),
    ],
)
def test_settings_that_cannot_be_so_are_refused_and_not_repeated(no_settings: Path, text: str, slug: str) -> None:
    no_settings.write_bytes(text.encode("utf-8", "surrogatepass"))
    with pytest.raises(UserError) as refused:
        second_reader_settings()
    assert refused.value.problem.slug == slug
    assert "sk-1" not in str(refused.value)


def test_without_the_extra_it_says_how_to_get_it(ask: Ask, server, good, monkeypatch: pytest.MonkeyPatch) -> None:
    server.behave(good)
    monkeypatch.setitem(sys.modules, "httpx", None)
    with pytest.raises(UserError) as refused:
        ask()
    assert refused.value.problem.slug == "second-reader-missing"
    assert "shutline[second-reader]" in refused.value.problem.advice


def test_nothing_of_it_is_loaded_unless_it_is_asked_for(tmp_path: Path) -> None:
    walk = tmp_path / "walk.txt"
    walk.write_text(WORDS, encoding="utf-8")
    code = (
        "import sys; from shutline.cli import main; "
        f"main(['add', {str(walk)!r}, '--store', {str(tmp_path / 's')!r}]); "
        f"main(['show', 'walk', '--store', {str(tmp_path / 's')!r}]); "
        "sys.exit(', '.join(m for m in sys.modules if m.startswith(('httpx', 'httpcore', 'shutline.second'))) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_the_stage_that_reads_asks_nobody(store: Store, server, ask: Ask, good) -> None:
    server.behave(good)
    ask()
    recording = store.car_file("blue").recordings[0].id
    usecase.lay_beside(store, "blue", recording)
    assert len(server.asked) == 1
