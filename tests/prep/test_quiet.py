"""What a library of C prints goes to standard error, and nothing is lost."""

from __future__ import annotations

import subprocess
import sys

CODE = """
import ctypes, os
from shutline.prep.quiet import told_as_errors

libc = ctypes.CDLL("ucrtbase" if os.name == "nt" else None)
print("before")
with told_as_errors():
    libc.puts(b"of the library")
print("after")
"""


def test_what_a_library_prints_is_not_among_what_is_given_out() -> None:
    done = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["before", "after"]
    assert done.stderr.split("\n")[0].strip() == "of the library"


def test_without_standard_output_it_does_no_harm() -> None:
    code = f"import os\nos.close(1)\nimport sys\nsys.stdout = None\n{CODE.replace('print', 'str')}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
