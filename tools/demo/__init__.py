"""The demo film: a script, a voice, an engine and a drawn picture, put together by `tools/make_demo.py`.

Takes `script.toml`; gives film and truth file for `src/shutline/usecases/demo_recording`. The package never
imports it.
"""
