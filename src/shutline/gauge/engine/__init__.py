"""The sound of an engine's start in; its note out: figures with their bounds, and what is not told, with why.

It takes samples, the number of cylinders, and where somebody speaks. It describes: what a figure may mean stands in the
data beside it, as common practice, and nothing here says what is wrong with an engine. No input or output.
"""

from shutline.gauge.engine.features import Sound
from shutline.gauge.engine.note import SOUND_HZ, note_engine
from shutline.gauge.engine.speaking import speech_spans

__all__ = ["SOUND_HZ", "Sound", "note_engine", "speech_spans"]
