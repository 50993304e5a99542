"""What was stopped on its way is found again and read to its end; what was sent keeps its own name."""

import os
from pathlib import Path

import pytest

from shutline.capture.originals import original_path
from shutline.car.errors import StoppedError
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import add, look_into
from shutline.usecases.progress import Step, Stop
from shutline.usecases.unfinished import go_on, unfinished

WORDS = """WEBVTT

00:00.000 --> 00:06.000
Nearside front wing, there's a bit of rust on the bottom edge.
"""


@pytest.fixture
def store(tmp_path: Path) -> Store:
    with Store.open(tmp_path / "store") as opened:
        yield opened


def stopped_after(store: Store, film: Path, words: Path, stage: str) -> None:
    stop = Stop()

    def tell(step: Step) -> None:
        if step.stage == stage and step.done == 1.0:
            stop.ask()

    with pytest.raises(StoppedError):
        add(store, [film], car="blue", transcript=words, tell=tell, stop=stop)


def test_a_stopped_recording_is_found_and_goes_on_with_the_words_it_has(
    store: Store, tmp_path: Path, make_film
) -> None:
    film = make_film("stopped.mp4", frames=60, rate=10, sound=None)
    words = tmp_path / "stopped.vtt"
    words.write_text(WORDS, encoding="utf-8")
    stopped_after(store, film, words, "words")

    (left,) = unfinished(store).recordings
    assert (left.car, left.name, left.done) == ("blue", "stopped.mp4", ("words",))

    item = go_on(store, left.recording)

    assert item.findings == 1
    assert unfinished(store).recordings == ()
    # Had it been listened to instead, a silent film would have no words.
    assert store.recording(left.recording).stretches[0].text.startswith("Nearside")


def test_what_was_sent_is_kept_under_the_name_it_was_sent_under_and_not_copied(store: Store, tmp_path: Path) -> None:
    sent = store.folder / "arriving" / "0f" / "0.part"
    sent.parent.mkdir(parents=True)
    sent.write_text(WORDS, encoding="utf-8")

    (item,) = add(store, [sent], car="blue", arrived={sent: "a <b>walk.vtt"}, by="Per Wick").items

    assert (item.name, item.error) == ("a <b>walk.vtt", None)
    (kept,) = store.car_file("blue").recordings
    assert kept.original.name == "a <b>walk.vtt"
    if os.name == "posix":
        assert original_path(store.originals, kept.original.sha256).samefile(sent)
    sent.unlink()
    assert original_path(store.originals, kept.original.sha256).read_text(encoding="utf-8") == WORDS


def test_where_the_disk_has_no_second_names_what_was_sent_is_copied(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent = store.folder / "0.part"
    sent.write_text(WORDS, encoding="utf-8")

    def refuse(self: Path, target: Path) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    add(store, [sent], car="blue", arrived={sent: "walk.vtt"})
    (kept,) = store.car_file("blue").recordings
    assert not original_path(store.originals, kept.original.sha256).samefile(sent)


def test_a_problem_names_the_file_as_it_was_sent(store: Store) -> None:
    sent = store.folder / "0.part"
    sent.write_text("a letter without any time in it", encoding="utf-8")

    (item,) = add(store, [sent], car="blue", arrived={sent: "letter.mp4"}).items
    assert (item.name, item.error.slug, item.error.where) == ("letter.mp4", "not-a-recording", "letter.mp4")
    with pytest.raises(Exception, match=r"^letter\.mp4: "):
        look_into(sent, name="letter.mp4")


def test_the_command_lists_them_and_reads_them_to_their_end(
    store: Store, tmp_path: Path, make_film, capsys: pytest.CaptureFixture[str]
) -> None:
    film = make_film("left.mp4", frames=60, rate=10, sound=None)
    words = tmp_path / "left.vtt"
    words.write_text(WORDS, encoding="utf-8")
    stopped_after(store, film, words, "words")
    where = ["--store", str(store.folder)]

    assert main(["unfinished", *where]) == 0
    assert "left.mp4; done: words" in capsys.readouterr().out
    assert main(["unfinished", "--go-on", *where]) == 0
    assert unfinished(store).recordings == ()
    capsys.readouterr()
    assert main(["unfinished", *where]) == 0
    assert capsys.readouterr().out == "All recordings are read to their end.\n"
