"""Write an MP4: tracks copied or coded anew, chapters, captions, and nothing else that tells of the camera."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Self

import numpy as np
import numpy.typing as npt

from shutline.capture.bare_packets import without_notes
from shutline.capture.limits import LightLimits, limits

if TYPE_CHECKING:
    from av import AudioStream, Packet, VideoStream
    from av.stream import Stream
    from av.subtitles.stream import SubtitleStream

# What an MP4 holds so that common players show it (ISO/IEC 14496-15, and the registered sample entries).
COPIED_PICTURE = frozenset({"h264", "hevc", "av1", "vp9", "mpeg4"})
COPIED_SOUND = frozenset({"aac", "mp3", "ac3", "eac3", "opus", "flac", "alac"})
_TICK = Fraction(1, 90_000)
_MS = Fraction(1, 1000)
_SOUND_RATE_HZ = 48_000
# The form FFmpeg wants before it writes captions into an MP4 as 3GPP timed text; sizes are its own defaults.
_CAPTION_HEAD = b"""[Script Info]
ScriptType: v4.00+
PlayResX: 384
PlayResY: 288

[V4+ Styles]
Format: Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, BackColour, Bold, Italic, Underline, \
StrikeOut, ScaleX, ScaleY, Spacing, Angle, BorderStyle, Outline, Shadow, Alignment, MarginL, MarginR, MarginV, Encoding
Style: Default,Arial,16,&Hffffff,&Hffffff,&H0,&H0,0,0,0,0,100,100,0,0,1,1,0,2,10,10,10,1

[Events]
Format: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text
"""


@dataclass(frozen=True, slots=True)
class Line:
    """Words that stand for a time: a chapter's name, or a caption; milliseconds, ``start_ms < end_ms``."""

    start_ms: int
    end_ms: int
    text: str


class FilmWriter:
    """An MP4 under way; times are seconds from its start. Use as a context."""

    def __init__(
        self,
        path: Path,
        *,
        tells: Mapping[str, str] | None = None,
        chapters: Sequence[Line] = (),
        light: LightLimits | None = None,
    ) -> None:
        import av

        self._light = light
        flags = "+faststart+use_metadata_tags" if tells else "+faststart"
        # Bit-exact: no name of the library that wrote it, and no moment of writing.
        self._out = av.open(str(path.absolute()), "w", format="mp4", options={"movflags": flags, "fflags": "+bitexact"})
        self._out.metadata.update(tells or {})
        self._captions: SubtitleStream | None = None
        self._waiting: list[Line] = []
        if chapters:
            self._out.set_chapters(
                [
                    {
                        "id": at,
                        "start": one.start_ms,
                        "end": one.end_ms,
                        "time_base": _MS,
                        "metadata": {"title": one.text},
                    }
                    for at, one in enumerate(chapters)
                ]
            )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._out.close()

    def copied(self, stream: Stream) -> Copied:
        """Add a track whose packets are copied."""
        return Copied(self, stream, self._out.add_stream_from_template(stream))

    def joined(self, stream: Stream) -> JoinedPicture:
        """Add a picture track that was coded in parts like `stream`."""
        return JoinedPicture(self, self._out.add_stream_from_template(stream))

    def picture(self, width: int, height: int) -> CodedPicture:
        """Add a picture track that is coded anew; width and height are even."""
        if self._light is None:
            settings = limits().clips
            options = {"crf": f"{settings.quality}", "preset": settings.preset, "bf": "2"}
        else:
            options = _light_options(self._light)
        stream = self._out.add_stream("libx264", options=options)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.time_base = stream.codec_context.time_base = _TICK
        context = stream.codec_context
        # ISO/IEC 23091-2: 1 is BT.709 in all three; 1 for the range is FFmpeg's number for 16 to 235.
        context.colorspace = context.color_primaries = context.color_trc = context.color_range = 1
        return CodedPicture(self, stream)

    def sound(self, channels: int) -> CodedSound:
        """Add a sound track that is coded anew, of one or two channels."""
        layout = "mono" if channels == 1 else "stereo"
        stream = self._out.add_stream("aac", rate=_SOUND_RATE_HZ, layout=layout)
        stream.bit_rate = 128_000 if self._light is None else self._light.sound_bits_per_s
        return CodedSound(self, stream)

    def captions(self, lines: Sequence[Line], *, language: str = "eng") -> None:
        """Add a track of captions; they are written as the other tracks come to their times."""
        if not lines:
            return
        stream = self._out.add_stream("mov_text")
        stream.codec_context.subtitle_header = _CAPTION_HEAD
        stream.codec_context.time_base = _MS
        stream.metadata["language"] = language
        self._captions = stream
        self._waiting = sorted(lines, key=lambda one: one.start_ms)

    def put(self, packets: Packet[Stream] | Sequence[Packet[Stream]], at_s: float) -> None:
        """Write packets of one track, and the captions up to their time."""
        self.caption_until(at_s)
        self._out.mux(packets)

    def caption_until(self, at_s: float | None = None) -> None:
        """Write the captions up to a time; None for all that are left."""
        import av

        while self._captions is not None and self._waiting:
            line = self._waiting[0]
            if at_s is not None and line.start_ms > at_s * 1000:
                return
            text = line.text.encode()[:0xFFFF]
            # 3GPP TS 26.245, clause 5.17: the length of the text in two bytes, then the text.
            packet = av.Packet(len(text).to_bytes(2, "big") + text)
            packet.pts = packet.dts = line.start_ms
            packet.duration, packet.time_base, packet.stream = line.end_ms - line.start_ms, _MS, self._captions
            self._out.mux(packet)
            del self._waiting[0]


def _light_options(light: LightLimits) -> dict[str, str]:
    keys = round(light.key_every_s * light.frames_per_s)
    return {
        "crf": f"{light.quality}",
        "preset": light.preset,
        "profile": light.profile,
        "g": f"{keys}",
        "bf": "2",
    }


class Copied:
    """A track that is copied packet by packet."""

    def __init__(self, writer: FilmWriter, source: Stream, stream: Stream) -> None:
        self._writer, self._stream = writer, stream
        self._codec = source.codec_context.codec.canonical_name
        self._extradata = source.codec_context.extradata
        self._last: int | None = None

    def put(self, packet: Packet[Stream], shift_s: Fraction) -> None:
        """Write a packet `shift_s` earlier than in its file; one without time, or before the last, is left out."""
        import av

        tick = packet.time_base
        dts = packet.dts if packet.dts is not None else packet.pts
        if dts is None:
            return
        shift = round(shift_s / tick)
        data = bytes(packet)
        bare = without_notes(data, self._codec, self._extradata)
        made = packet
        if bare is not data:
            made = av.Packet(bare)
            made.is_keyframe, made.duration, made.time_base = packet.is_keyframe, packet.duration, tick
        pts = packet.pts if packet.pts is not None else dts
        made.dts, made.pts, made.stream = dts - shift, pts - shift, self._stream
        if self._last is not None and made.dts <= self._last:
            return
        self._last = made.dts
        self._writer.put(made, float(made.dts * tick))


class JoinedPicture:
    """A picture track that is put together from parts that were coded alike, each from a key frame on."""

    def __init__(self, writer: FilmWriter, stream: Stream) -> None:
        self._writer, self._stream = writer, stream
        self._last: int | None = None

    def put(self, packet: Packet[Stream], later_s: Fraction) -> None:
        """Write a packet of a part that begins at `later_s`."""
        if packet.pts is None or packet.dts is None:
            return
        shift = round(later_s / packet.time_base)
        packet.pts, packet.dts, packet.stream = packet.pts + shift, packet.dts + shift, self._stream
        # A part is coded a little ahead of its first frame, which may touch the end of the one before.
        if self._last is not None and packet.dts <= self._last:
            packet.dts = self._last + 1
        self._last = packet.dts
        self._writer.put(packet, float(packet.dts * packet.time_base))


class CodedPicture:
    """A picture track that is coded anew."""

    def __init__(self, writer: FilmWriter, stream: VideoStream) -> None:
        self._writer, self._stream = writer, stream

    def put(self, pixels: npt.NDArray[np.uint8], at_s: float) -> None:
        """Write a frame: shape (height, width, 3), uint8, sRGB, upright."""
        import av
        from av.video.reformatter import ColorRange, Colorspace

        frame = av.VideoFrame.from_ndarray(pixels, format="rgb24")
        frame = frame.reformat(
            format="yuv420p", dst_colorspace=Colorspace.ITU709, dst_color_range=ColorRange.MPEG, interpolation="AREA"
        )
        frame.pts, frame.time_base = round(at_s / _TICK), _TICK
        self._writer.put(self._stream.encode(frame), at_s)

    def end(self, at_s: float) -> None:
        """Write what the coder still holds."""
        self._writer.put(self._stream.encode(None), at_s)


class CodedSound:
    """A sound track that is coded anew."""

    def __init__(self, writer: FilmWriter, stream: AudioStream) -> None:
        self._writer, self._stream = writer, stream
        self._next = 0

    @property
    def layout(self) -> str:
        """What is written: mono or stereo."""
        return self._stream.layout.name

    def put(self, samples: npt.NDArray[np.float32], at_s: float) -> None:
        """Write samples, shape (channels, n), float32, 48 kHz; what overlaps the last ones is left out."""
        import av

        begin = round(at_s * _SOUND_RATE_HZ)
        if begin < self._next:
            samples, begin = samples[:, self._next - begin :], self._next
        if not samples.shape[1]:
            return
        made = av.AudioFrame.from_ndarray(np.ascontiguousarray(samples), format="fltp", layout=self.layout)
        made.sample_rate, made.pts, made.time_base = _SOUND_RATE_HZ, begin, Fraction(1, _SOUND_RATE_HZ)
        self._next = begin + samples.shape[1]
        self._writer.put(self._stream.encode(made), at_s)

    def end(self, at_s: float) -> None:
        """Write what the coder still holds."""
        self._writer.put(self._stream.encode(None), at_s)
