"""From sound to words with times, and from transcript files to the same.

Takes 16 kHz mono sound, whole or in blocks, or the bytes of a transcript file; gives stretches of timed words and the
problems met on the way. May not open a recording, know about cars or parts, or keep anything: what was heard is handed
to the caller piece by piece, and pieces heard before can be handed back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.speech.transcripts import Form, Transcript, parse_transcript

if TYPE_CHECKING:
    from shutline.speech.accurate import accurate as accurate
    from shutline.speech.bundled import bundled as bundled
    from shutline.speech.recognise import Segment as Segment
    from shutline.speech.recognise import recognise as recognise
    from shutline.speech.terms import trade_terms as trade_terms

__all__ = ["Form", "Segment", "Transcript", "accurate", "bundled", "parse_transcript", "recognise", "trade_terms"]


def __getattr__(name: str) -> object:
    """Load what listens, with its heavy libraries, only when it is asked for."""
    homes = {
        "Segment": "recognise",
        "recognise": "recognise",
        "bundled": "bundled",
        "accurate": "accurate",
        "trade_terms": "terms",
    }
    if name in homes:
        from importlib import import_module

        return getattr(import_module(f"shutline.speech.{homes[name]}"), name)
    raise AttributeError(name)
