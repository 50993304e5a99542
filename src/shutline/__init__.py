"""From one filmed walk round an old car to a car file in which every sentence has a footing."""

__version__ = "0.1.0"
