"""Time stamps (RFC 3161): asked for over HTTP, and read. Only a hash goes out."""

from __future__ import annotations

import hashlib
import http.client
import urllib.error
import urllib.request
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from shutline.car.errors import BrokenWorldError, Problem, UserError
from shutline.sealed.stamp_order import in_der_order

if TYPE_CHECKING:
    from cryptography.x509 import Certificate
    from rfc3161_client import TimeStampResponse

TIMEOUT_S = 30.0
# RFC 5754, clause 2.
_HASHES = {
    "2.16.840.1.101.3.4.2.1": "sha256",
    "2.16.840.1.101.3.4.2.2": "sha384",
    "2.16.840.1.101.3.4.2.3": "sha512",
}
_LONGEST = 1 << 18


@dataclass(frozen=True, slots=True)
class Stamp:
    """What a time stamp says.

    `at` is ISO 8601 in UTC, "" where it cannot be read; `by` the name of whom it says it is by. `fits` tells whether it
    is of the bytes it lies beside; `trusted` whether it is signed by whom one of the trusted certificates vouches for,
    None where none was given: then nobody has checked who made it. `found` says what is wrong, if anything is.
    """

    at: str
    by: str
    fits: bool
    trusted: bool | None
    found: str = ""


def ask_stamp(data: bytes, address: str, *, timeout_s: float = TIMEOUT_S) -> bytes:
    """Have a service stamp bytes; only their SHA-512 is sent.

    Parameters
    ----------
    data : bytes
        What is stamped.
    address : str
        Of the service, http or https.
    timeout_s : float
        How long it may take to answer, seconds.

    Returns
    -------
    bytes
        The answer (TimeStampResp, DER) as it came, which holds a stamp of these bytes.

    Raises
    ------
    UserError
        The address is none (slug ``stamp-address``).
    BrokenWorldError
        The service cannot be reached, refuses, or answers something else (``stamp-not-had``).
    """
    from rfc3161_client import HashAlgorithm, TimestampRequestBuilder, decode_timestamp_response

    check_address(address)
    asked = TimestampRequestBuilder().data(data).hash_algorithm(HashAlgorithm.SHA512).build()
    request = urllib.request.Request(  # noqa: S310 - the scheme was checked above
        address, asked.as_bytes(), {"Content-Type": "application/timestamp-query", "User-Agent": "shutline"}
    )
    try:
        with urllib.request.urlopen(request, timeout=timeout_s) as answer:  # noqa: S310 - as above
            body: bytes = answer.read(_LONGEST + 1)
    except urllib.error.HTTPError as trouble:
        trouble.close()
        raise _not_had(address, f"it answers with status {trouble.code}") from trouble
    except (OSError, http.client.HTTPException, ValueError) as trouble:
        reason = getattr(trouble, "reason", None) or getattr(trouble, "strerror", None) or type(trouble).__name__
        raise _not_had(address, f"it could not be asked: {reason}") from trouble
    try:
        response = decode_timestamp_response(in_der_order(body))
        nonce = response.tst_info.nonce if response.status in {0, 1} else None
    except ValueError as trouble:
        raise _not_had(address, "its answer is no time stamp") from trouble
    if response.status not in {0, 1}:
        told = "; ".join(response.status_string) or f"status {response.status}"
        raise _not_had(address, f"it refused: {told[:200]}")
    stamp = read_stamp(body, data)
    if not stamp.fits:
        raise _not_had(address, stamp.found)
    if nonce != asked.nonce:
        raise _not_had(address, "its answer is to another question")
    return body


def read_stamp(response: bytes, data: bytes, *, roots: Sequence[Certificate] = ()) -> Stamp:
    """Read a time stamp.

    Parameters
    ----------
    response : bytes
        TimeStampResp, DER.
    data : bytes
        What it should be of.
    roots : sequence of Certificate
        Whom to trust.
    """
    from rfc3161_client import decode_timestamp_response

    # Each part is read only when it is asked for.
    try:
        answer = decode_timestamp_response(in_der_order(response))
        at = answer.tst_info.gen_time.isoformat()
        by = _signer(answer)
        of_it = _is_of(answer, data)
    except (ValueError, TypeError, OverflowError, NotImplementedError):
        return Stamp("", "", fits=False, trusted=None, found="it cannot be read as a time stamp")
    at = at.replace("+00:00", "Z") if at.endswith("+00:00") else f"{at}Z"
    if not of_it:
        return Stamp(at, by, fits=False, trusted=None, found="it is of something else")
    found = _wrong(answer, data, roots) if roots else ""
    return Stamp(at, by, fits=True, trusted=not found if roots else None, found=found)


def _is_of(answer: TimeStampResponse, data: bytes) -> bool:
    told = answer.tst_info.message_imprint
    name = _HASHES.get(told.hash_algorithm.dotted_string)
    return name is not None and hashlib.new(name, data).digest() == told.message


def _wrong(answer: TimeStampResponse, data: bytes, roots: Sequence[Certificate]) -> str:
    from rfc3161_client import VerificationError, VerifierBuilder

    builder = VerifierBuilder()
    for root in dict.fromkeys(roots):
        builder = builder.add_root_certificate(root)
    try:
        builder.build().verify_message(answer, data)
    except (VerificationError, ValueError, TypeError) as trouble:
        return " ".join(str(trouble).split())[:200] or "it does not verify"
    return ""


def _signer(answer: TimeStampResponse) -> str:
    """Give the name of the certificate that the stamp is signed with."""
    from cryptography.x509 import load_der_x509_certificate

    inside = [load_der_x509_certificate(one) for one in answer.signed_data.certificates]
    serials = {one.serial_number for one in answer.signed_data.signer_infos}
    return next((one.subject.rfc4514_string() for one in inside if one.serial_number in serials), "")


def check_address(address: str) -> None:
    """Refuse what is no address of a service; raises UserError (slug ``stamp-address``)."""
    try:
        parts = urlsplit(address)
        fits = parts.scheme in {"http", "https"} and bool(parts.hostname)
    except ValueError:
        fits = False
    if not fits:
        raise UserError(
            Problem(
                slug="stamp-address",
                where="--stamp",
                found=repr(address[:80]),
                allowed="the address of a time-stamp service (RFC 3161), http or https",
                advice="Take it from the service's own description.",
            )
        )


def _not_had(address: str, found: str) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="stamp-not-had",
            where=urlsplit(address).hostname or address,
            found=found,
            allowed="a time stamp of what is sealed; nothing was sealed",
            advice="Try again later, name another service, or seal without a stamp.",
        )
    )
