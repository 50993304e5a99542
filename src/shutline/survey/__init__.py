"""What a buyer would want looked at, held against the car file.

Takes a car file; gives what nobody has looked at or spoken of, in order of weight. May not read or write anything but
its own data, and never reads silence as good news.
"""

from shutline.survey.silence import Breadth, FactSilence, Silence, silences, unknown_facts

__all__ = ["Breadth", "FactSilence", "Silence", "silences", "unknown_facts"]
