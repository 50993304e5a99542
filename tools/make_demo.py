"""Makes the demo film and its truth file; see tools/demo/README.md.

python tools/make_demo.py speak --weights kokoro.onnx --voices voices/   (with the voice installed)
python tools/make_demo.py film      (with the project's own environment: film and truth, some minutes)
python tools/make_demo.py truth     (the truth file alone, for a film that is there)
python tools/make_demo.py stills --at 58 190 --out stills
python tools/make_demo.py sound --out sound
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent / "src")]

from demo.script import Script, read_script  # noqa: E402  the two folders have to be on the path first

OUT = HERE.parent / "src" / "shutline" / "usecases" / "demo_recording"
FILM = "walk.mp4"


def main() -> int:
    """Speak the lines or make the film."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("speak", "film", "truth", "sound", "stills"))
    parser.add_argument("--script", type=Path, default=HERE / "demo" / "script.toml")
    parser.add_argument("--takes", type=Path, default=HERE.parent / "build" / "demo" / "takes")
    parser.add_argument("--out", type=Path, default=OUT)
    parser.add_argument("--weights", type=Path, help="the joined weights of the voice")
    parser.add_argument("--voices", type=Path, help="the folder with the voice's own file")
    parser.add_argument("--quality", type=float, help="constant rate factor instead of the script's")
    parser.add_argument("--at", type=float, nargs="*", default=[], help="seconds of the stills")
    given = parser.parse_args()
    script = read_script(given.script)
    if given.what == "speak":
        from demo.voice import speak

        if given.weights is None or given.voices is None:
            parser.error("speak needs --weights and --voices; see tools/demo/README.md")
        print(f"{speak(script, given.weights, given.voices, given.takes)} lines spoken into {given.takes}")
        return 0
    return _make(script, given)


def _make(script: Script, given: argparse.Namespace) -> int:
    import cv2

    from demo.camera import Camera
    from demo.encode import encode
    from demo.engine import run_engine
    from demo.frames import Film
    from demo.sound import RATE_HZ, loudness, mix
    from demo.timeline import lay_out
    from demo.truth import write_truth
    from demo.voice import write_wav
    from demo.world import World
    from shutline.car.findings import Drive
    from shutline.car.plan import draw

    # One thread for the picture leaves the other cores to the encoder, and the frames do not depend on their count.
    cv2.setNumThreads(1)
    started = time.monotonic()
    seed = int(script.film["seed"])
    timeline = lay_out(script, given.takes)
    world = World(draw(script.car["body"], doors=script.car["doors"], drive=Drive(script.car["drive"])), script)
    camera = Camera(script, timeline, world)
    wiped_s = next(s.end_s - 0.6 for s in timeline.spoken if s.line.wipes)
    engine = run_engine(
        script.cold_start,
        cylinders=script.car["cylinders"],
        run_s=timeline.engine_off_s - timeline.engine_start_s,
        rate_hz=RATE_HZ,
        seed=seed,
    )
    sound = mix(timeline, engine, camera.steps_s(), seed=seed)
    given.out.mkdir(parents=True, exist_ok=True)
    print(f"{timeline.length_s:.1f} s, {loudness(sound):.1f} LUFS, peak {abs(sound).max():.2f}")
    if given.what == "sound":
        write_wav(given.out / "demo.wav", sound, RATE_HZ)
        return 0
    width, height = script.film["width"], script.film["height"]
    path = given.out / FILM
    if given.what != "truth":
        film = Film(world, camera, timeline, width=width, height=height, wiped_s=wiped_s)
        if given.what == "stills":
            for at in given.at:
                cv2.imwrite(str(given.out / f"still-{at:07.2f}.png"), film.frame(at))
            return 0
        encode(
            path, film.frames(), sound, width=width, height=height, frame_rate=script.film["frame_rate"],
            quality=given.quality or script.film["quality"], sound_bits_per_s=script.film["sound_bits_per_s"],
            title=script.film["title"],
        )  # fmt: skip
    truth = write_truth(script, timeline, camera, world, engine, wiped_s=wiped_s)
    truth["film"] |= {
        "name": path.name,
        "byte_size": path.stat().st_size,
        "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
    }
    text = json.dumps(truth, ensure_ascii=False, indent=None, separators=(", ", ": "))
    text = text.replace('}, {"', '},\n {"').replace('], "', '],\n "').replace('}, "', '},\n "')
    (given.out / "demo_truth.json").write_text(text + "\n", encoding="utf-8", newline="\n")
    print(f"{path.stat().st_size / 1e6:.2f} MB in {time.monotonic() - started:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
