"""Marks, chassis numbers and counts on a paper: taken as read, with what they may have been misread for beside them."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from shutline.car.papers import Value
from shutline.gauge.seen.forms import alike, changed, is_vin, mark_forms
from shutline.history.chassis import chassis_number
from shutline.history.papers.signs import enough, figures
from shutline.history.papers.tables import weights

_LONGEST_MARK, _LONGEST_CHASSIS, _SHORTEST_CHASSIS = 9, 20, 4
_MOST_OTHERS = 4
_ALONE = re.compile(
    r"(?<![\w£€$/-])(?:[A-Z]{2}[0-9OIlo]{2}[ \t]?[A-Z]{3}|[A-Z][0-9OIlo]{1,3}[ \t]?[A-Z]{3}"
    r"|[A-Z]{3}[ \t]?[0-9OIlo]{1,3}[A-Z])(?![\w/-])"
)
_VIN_ALONE = re.compile(r"(?<![A-Z0-9])[A-Z0-9](?:[ \t]?[A-Z0-9]){16}(?![A-Z0-9])")
# Print has marks in capitals: a small l or o among them is a figure rather than a letter.
_SMALL = str.maketrans("lo", "10")
_PARTS = re.compile(r"[^\W_]+")
_CHASSIS = re.compile(r"[A-Z0-9lo]+(?:[ \t]?[/.\-][ \t]?[A-Z0-9lo]+|[ \t][A-Z0-9lo]*[A-Z0-9][A-Z0-9lo]*)*(?![a-z])")
_COUNT = re.compile(r"[0-9OIl]{1,2}(?![\w.,/£])|[^\W\d_]+")

Read = tuple[int, int, tuple[Value, ...], str]
"""Where it stands, from and to; the ways to take it; and why."""


def labelled_mark(text: str, first: int, end: int, ours: Sequence[str]) -> Read | None:
    """Read a mark where its label says that one stands; None where nothing there looks like one."""
    parts = list(_PARTS.finditer(text, first, end))[:8]
    if not parts or parts[0].start() > first + 2:
        return None
    best: Read | None = None
    for count in range(1, min(len(parts), 8) + 1):
        plain = _figured("".join(part[0] for part in parts[:count]))
        if len(plain) > _LONGEST_MARK:
            break
        span = parts[0].start(), parts[count - 1].end()
        if not any(sign.isdigit() for sign in text[slice(*span)]):
            continue
        if mark_forms(plain):
            values, why = _taken(plain, fits=_has_form, ours=ours, has_form=True)
            best = *span, values, f"it stands by its label and has the form of a mark{why}{_told(text, span)}"
        elif best is None and len(plain) >= 4 and any(changed(plain, _has_form, most=1)):
            values, why = _taken(plain, fits=_has_form, ours=ours, has_form=False)
            best = *span, values, f"it stands by its label and has the form of no mark, as read{why}{_told(text, span)}"
    if best is None:
        first_part = parts[0]
        plain = first_part[0].upper()
        if 4 <= len(plain) <= _LONGEST_MARK and any(sign.isdigit() for sign in plain) and not first_part[0].islower():
            return (
                first_part.start(),
                first_part.end(),
                (Value(plain, "", 1.0),),
                "it stands by its label; kept as written",
            )
    return best


def marks_alone(text: str, ours: Sequence[str]) -> list[Read]:
    """Find marks without a label: those of the car, and of forms that are seldom anything else."""
    rules = weights()["marks"]
    found: list[Read] = []
    for match in _ALONE.finditer(text):
        plain = _figured("".join(match[0].split()))
        if plain not in ours and any(letters in rules["not_marks"] for letters in re.findall(r"[A-Z]+", plain)):
            continue
        forms = {form.id for form in mark_forms(plain)} & set(rules["alone_forms"])
        if forms or plain in ours or any(_near(plain, one) for one in ours):
            values, why = _taken(plain, fits=_alone_form, ours=ours, has_form=bool(forms))
            why = f"it has the form of a mark and no label{why}{_told(text, match.span())}"
            found.append((*match.span(), values, why))
    for one in ours:
        spaced = r"[ \t]?".join(re.escape(sign) for sign in one)
        for match in re.finditer(rf"(?<!\w){spaced}(?!\w)", text, re.IGNORECASE) if one else ():
            if not any(match.start() < other[1] and other[0] < match.end() for other in found):
                found.append((match.start(), match.end(), (Value(one, "", 1.0),), "it is the car's own mark"))
    return sorted(found, key=lambda one: one[0])


def labelled_chassis(text: str, first: int, end: int, ours: Sequence[str]) -> Read | None:
    """Read a chassis number where its label says that one stands; None where nothing there looks like one."""
    match = _CHASSIS.match(text, first, end)
    if match is None:
        return None
    stop = match.end()
    plain = _plain(match[0])
    while len(plain) > _LONGEST_CHASSIS or (len(plain) > 17 and not is_vin(plain[:17])):
        cut = max(text.rfind(" ", first, stop), text.rfind("\t", first, stop))
        if cut <= first:
            break
        stop = cut
        plain = _plain(text[first:stop])
    if not _SHORTEST_CHASSIS <= len(plain) <= _LONGEST_CHASSIS or sum(sign.isdigit() for sign in plain) < 3:
        return None
    return first, stop, *_chassis_values(plain, ours, f"it stands by its label{_told(text, (first, stop))}")


def chassis_alone(text: str, ours: Sequence[str]) -> list[Read]:
    """Find chassis numbers without a label: seventeen signs, letters and figures among them, and the car's own."""
    found: list[Read] = []
    for match in _VIN_ALONE.finditer(text):
        plain = "".join(match[0].split())
        letters = sum(sign.isalpha() for sign in plain)
        if len(plain) == 17 and 3 <= letters <= 13 and plain[-4:].translate(str.maketrans("OIQ", "010")).isdigit():
            found.append(
                (match.start(), match.end(), *_chassis_values(plain, ours, "it has seventeen signs and no label"))
            )
    for one in ours:
        if len(one) < _SHORTEST_CHASSIS:
            continue
        spaced = r"[ \t/.\-]?".join(re.escape(sign) for sign in one)
        for match in re.finditer(rf"(?<!\w){spaced}(?!\w)", text, re.IGNORECASE):
            if not any(match.start() < other[1] and other[0] < match.end() for other in found):
                found.append((match.start(), match.end(), (Value(one, "", 1.0),), "it is the car's own number"))
    return sorted(found, key=lambda one: one[0])


def count_read(text: str, first: int, end: int) -> Read | None:
    """Read how many: one or two figures, or a word for a number."""
    match = _COUNT.match(text, first, end)
    if match is None:
        return None
    words = weights()["counts"]
    if match[0].lower() in words:
        number, why = words[match[0].lower()], "told in words"
    elif enough(match[0]):
        number, why = int(figures(match[0])[0]), "told in figures"
    else:
        return None
    return match.start(), match.end(), (Value(str(number), "", 1.0),), why


def misread_for(text: str, other: str) -> bool:
    """Tell whether one text may be the other misread: as long, and no sign differs but for one it is often taken for.

    >>> misread_for("FGY4I2H", "FGY412H"), misread_for("FGY413H", "FGY412H")
    (True, False)
    """
    return text == other or _near(text, other)


def _near(text: str, other: str) -> bool:
    differ = [(one, two) for one, two in zip(text, other, strict=False) if one != two]
    return len(text) == len(other) and 1 <= len(differ) <= 3 and all(two in alike(one) for one, two in differ)


def _told(text: str, span: tuple[int, int]) -> str:
    raw = "".join(text[slice(*span)].split())
    return "; a small l or o in it was taken for a figure" if _figured(raw) != raw.upper() else ""


def _has_form(text: str) -> bool:
    return bool(mark_forms(text))


def _alone_form(text: str) -> bool:
    return any(form.id in weights()["marks"]["alone_forms"] for form in mark_forms(text))


def _taken(
    plain: str, *, fits: Callable[[str], bool], ours: Sequence[str], has_form: bool
) -> tuple[tuple[Value, ...], str]:
    """Give a mark as read first, and after it what it may be misread for: the car's own before others."""
    rules = weights()["marks"]
    if plain in ours:
        return (Value(plain, "", 1.0),), "; it is the car's own"
    others = [one for one in ours if _near(plain, one)]
    if not others and not has_form:
        others = sorted(dict.fromkeys(changed(plain, fits, most=1)))[:_MOST_OTHERS]
    if not others:
        return (Value(plain, "", 1.0),), ""
    stays = rules["as_read"] if has_form else rules["as_read_formless"]
    share = round((1 - stays) / len(others), 4)
    told = ", ".join(others)
    return (Value(plain, "", stays), *(Value(one, "", share) for one in others)), f"; it may be misread for {told}"


def _chassis_values(plain: str, ours: Sequence[str], why: str) -> tuple[tuple[Value, ...], str]:
    if _squeezed(plain) in map(_squeezed, ours):
        return (Value(plain, "", 1.0),), f"{why}; it is the car's own"
    told = chassis_number(plain)
    others = [one for one in ours if _near(plain, one)] or list(told.others)[:_MOST_OTHERS]
    if told.check == "fails":
        why = f"{why}; its check digit does not hold"
    if not others:
        return (Value(plain, "", 1.0),), why
    stays = weights()["marks"]["as_read" if told.vin and told.check != "fails" else "as_read_formless"]
    share = round((1 - stays) / len(others), 4)
    values = (Value(plain, "", stays), *(Value(one, "", share) for one in others))
    return values, f"{why}; it may be misread for {', '.join(others)}"


def _squeezed(text: str) -> str:
    return "".join(sign for sign in text if sign.isalnum())


def _plain(text: str) -> str:
    return _figured("".join(sign for sign in text if sign not in " \t"))


def _figured(text: str) -> str:
    """Give a mark or number in capitals; a small l or o among capitals and figures is taken for the figure."""
    others = text.replace("l", "").replace("o", "")
    return (text.translate(_SMALL) if others and others == others.upper() else text).upper()
