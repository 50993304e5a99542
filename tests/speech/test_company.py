"""What the company of words does to what is heard; the reading is the published one of the other tests."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.remarks.company import shipped_company
from shutline.speech.bundled import BundledRecogniser, bundled
from shutline.speech.heard import Sound

BEST_OF_TIMES = slice(int(1.0 * 16000), int(2.9 * 16000))


@dataclass
class Disliking:
    """Finds one word unlikely, and all others usual."""

    word: str = ""
    id: str = "one"

    def after(self, said: tuple[str, ...], word: str) -> tuple[tuple[str, ...], float]:
        return (*said, word), -200.0 if word.strip(".,").lower() == self.word else 0.0


def _words(recogniser: BundledRecogniser, sound: Sound) -> list[str]:
    return [word.text.strip(".,").lower() for word in recogniser.words(sound).words]


def test_company_that_finds_all_usual_changes_nothing(reading: Sound, recogniser: BundledRecogniser) -> None:
    heard = _words(recogniser, reading[BEST_OF_TIMES])
    assert "best" in heard
    assert _words(bundled(company=Disliking()), reading[BEST_OF_TIMES]) == heard


def test_a_word_that_does_not_fit_is_taken_for_another(reading: Sound, recogniser: BundledRecogniser) -> None:
    heard = _words(recogniser, reading[BEST_OF_TIMES])
    other = _words(bundled(company=Disliking("best")), reading[BEST_OF_TIMES])
    assert "best" not in other
    assert len(other) >= len(heard) - 2


def test_the_name_of_the_recogniser_tells_the_company(recogniser: BundledRecogniser) -> None:
    company = shipped_company()
    assert bundled(company=company).id == f"{recogniser.id}/{company.id}"
