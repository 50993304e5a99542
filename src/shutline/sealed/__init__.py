"""The sealed file: a car file packed as a BagIt bag (RFC 8493) and signed (Ed25519), so that a change to it shows.

Takes names with bytes or files, a statement and a key; gives a folder, and later says what was changed in one. Knows
neither the store nor what the bytes mean, and may not change what it packs.
"""

from shutline.sealed.bag import Packed, Payload, pack
from shutline.sealed.check import Checked, Fault, check
from shutline.sealed.keys import (
    SealKey,
    another_key,
    fingerprint,
    is_locked,
    lock_key,
    own_key,
    own_public,
    own_publics,
)
from shutline.sealed.stamp import Stamp, ask_stamp, read_stamp
from shutline.sealed.tree import opened_tree

__all__ = [
    "Checked",
    "Fault",
    "Packed",
    "Payload",
    "SealKey",
    "Stamp",
    "another_key",
    "ask_stamp",
    "check",
    "fingerprint",
    "is_locked",
    "lock_key",
    "opened_tree",
    "own_key",
    "own_public",
    "own_publics",
    "pack",
    "read_stamp",
]
