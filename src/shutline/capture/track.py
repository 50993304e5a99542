"""Choose the sound track that somebody speaks on."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from shutline.capture import files, media
from shutline.capture.limits import limits
from shutline.car.errors import BadInputError, Problem

if TYPE_CHECKING:
    from av import AudioStream
    from av.container import InputContainer

_LISTEN_RATE_HZ = 16_000
_ENVELOPE_RATE_HZ = 100


def choose_track(
    path: Path, container: InputContainer, *, asked: int | None = None
) -> tuple[int | None, tuple[Problem, ...]]:
    """Choose a sound track.

    A single track marked as the default one is taken if anything can be heard on it; otherwise a piece here and there
    of each is listened to, and the one most like speech is taken, the first of those that are alike.

    Parameters
    ----------
    path : Path
        For the messages.
    container : InputContainer
        Open; where it stands in the file afterwards is not defined.
    asked : int, optional
        Take this stream index and look no further.

    Returns
    -------
    int or None
        The stream index; None when there is no sound track that can be read.
    tuple of Problem
        `no-sound-track`, or `several-sound-tracks` which tells the one taken.

    Raises
    ------
    BadInputError
        There is no sound track `asked` (`no-such-track`).
    """
    streams = media.sound_streams(container)
    where = files.shown_name(path)
    if asked is not None:
        if asked not in {stream.index for stream in streams}:
            raise BadInputError(_no_such_track(where, asked, streams))
        return asked, ()
    if not streams:
        return None, (media.no_sound_track(path),)
    if len(streams) == 1:
        return streams[0].index, ()
    likeness = {stream.index: speech_likeness(_listen(container, stream)) for stream in streams}
    chosen, reason = _prefer(streams, likeness)
    others = ", ".join(str(stream.index) for stream in streams if stream.index != chosen)
    return chosen, (
        Problem(
            slug="several-sound-tracks",
            where=where,
            found=f"{len(streams)} sound tracks; track {chosen} was taken, {reason}",
            allowed="one track is read",
            advice=f"If the voice is on another, name its track ({others}).",
        ),
    )


def _prefer(streams: tuple[AudioStream, ...], likeness: dict[int, float]) -> tuple[int, str]:
    from av.stream import Disposition

    marked = [stream.index for stream in streams if stream.disposition & Disposition.default]
    if len(marked) == 1 and likeness[marked[0]] > 0:
        return marked[0], "the file's default"
    best = max(streams, key=lambda stream: (round(likeness[stream.index], 2), -stream.index)).index
    return best, "the one most like speech" if likeness[best] > 0 else "and all of them are silent"


def speech_likeness(samples: npt.NDArray[np.float32]) -> float:
    """Measure how much like speech a sound is: strong in the band of the voice, and swelling at the rate of syllables.

    Parameters
    ----------
    samples : numpy.ndarray
        Shape (n,), float32, mono, 16 kHz, full scale 1.

    Returns
    -------
    float
        0 for silence or less than half a second; towards 1 for a voice alone. A hum, a hiss and an even engine lie low.
    """
    settings = limits().sound
    frame = _LISTEN_RATE_HZ // _ENVELOPE_RATE_HZ
    frames = len(samples) // frame
    if frames < _ENVELOPE_RATE_HZ // 2 or float(np.max(np.abs(samples))) < settings.silence_peak:
        return 0.0
    spectrum = np.abs(np.fft.rfft(samples[: frames * frame].reshape(frames, frame) * np.hanning(frame))) ** 2
    pitch_hz = np.fft.rfftfreq(frame, 1 / _LISTEN_RATE_HZ)
    low_hz, high_hz = settings.speech_band_hz
    voice = spectrum[:, (pitch_hz >= low_hz) & (pitch_hz <= high_hz)].sum(axis=1)
    share = float(voice.sum() / max(float(spectrum.sum()), 1e-20))
    envelope = np.sqrt(voice)
    swell = np.abs(np.fft.rfft(envelope - envelope.mean())) ** 2
    swell_hz = np.fft.rfftfreq(frames, 1 / _ENVELOPE_RATE_HZ)
    slow_hz, fast_hz = settings.syllable_band_hz
    syllables = float(swell[(swell_hz >= slow_hz) & (swell_hz <= fast_hz)].sum())
    # How deep the swelling is, against the steady part: Parseval's theorem gives its power in the same unit.
    depth = 2 * syllables / frames / max(float(np.sum(envelope**2)), 1e-20)
    return share * min(1.0, 4 * depth)


def _listen(container: InputContainer, stream: AudioStream) -> npt.NDArray[np.float32]:
    """Decode a few pieces spread over the recording; what cannot be decoded is left out."""
    import av

    settings = limits().sound
    length_s = media.promised_s(container) or 0.0
    zero = float(media.zero_s(container))
    pieces: list[npt.NDArray[np.float32]] = []
    for at in range(settings.listen_pieces):
        start_s = length_s * (at + 0.5) / settings.listen_pieces
        resampler = av.AudioResampler(format="flt", layout="mono", rate=_LISTEN_RATE_HZ)
        heard = 0
        with contextlib.suppress(av.FFmpegError, ValueError):
            container.seek(round((zero + start_s) * 1_000_000))
            for packet in media.packets(container, stream):
                with contextlib.suppress(av.FFmpegError):
                    for frame in stream.codec_context.decode(packet):
                        frame.pts = None
                        for done in resampler.resample(frame):
                            pieces.append(done.to_ndarray().reshape(-1).astype(np.float32))
                            heard += done.samples
                if heard >= settings.listen_s * _LISTEN_RATE_HZ:
                    break
        if length_s < settings.listen_s:
            break
    return np.concatenate(pieces) if pieces else np.zeros(0, np.float32)


def _no_such_track(where: str, asked: int, streams: tuple[AudioStream, ...]) -> Problem:
    there = ", ".join(str(stream.index) for stream in streams) or "none"
    return Problem(
        slug="no-such-track",
        where=where,
        found=f"no sound track {asked}",
        allowed=f"one of {there}",
        advice="Leave the track out, or name one of these.",
    )
