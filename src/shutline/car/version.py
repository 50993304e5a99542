"""The version of the program, which results that depend on its rules carry with them."""

VERSION = "0.1.0"
