"""Private words of papers: whatever is planted lies in a stretch that is kept back."""

from __future__ import annotations

import string

import paper_layouts as layouts
import phonenumbers
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.papers import PRIVATE, Box, Line, Page, ReadKind
from shutline.history.papers import Known, private_words, tell_paper
from shutline.history.papers.tables import labels, private_rules

SURNAMES = [
    "Garside",
    "Thorncroft",
    "O'Dowdall",
    "Delacourt-Reed",
    "Quayle",
    "Pettigrew",
    "Ahlbrink",
    "McTavendale",
    "Vane",
]
RULES = private_rules()
FIRST = sorted({one.capitalize() for one in RULES["names"]["first"].split()} - {"Ali", "Ian", "Ann"})
TITLES = ["Mr", "Mrs", "Miss", "Ms", "Dr", "Rev", "MR", "Mr.", "Herr", "Frau", "Mme"]
STREETS = [one.capitalize() for one in RULES["addresses"]["streets"] if len(one) > 3]
TOWNS = ["Little Wending", "Nether Quill", "Low Marram", "Upper Tarn", "Rossnacur"]
NAME_LABELS = sorted(
    row.words.capitalize() for row in labels() if row.kind is ReadKind.NAME and row.country == "GB" and row.role
)
letters = st.sampled_from(string.ascii_uppercase)
titled = st.builds("{} {} {}".format, st.sampled_from(TITLES), st.sampled_from("WHAEJ"), st.sampled_from(SURNAMES))
full = st.builds("{} {}".format, st.sampled_from(FIRST), st.sampled_from(SURNAMES))
initials = st.builds("{}. {}. {}".format, letters, letters, st.sampled_from(SURNAMES))
names = titled | full | initials
streets = st.builds(
    "{} {} {}".format, st.integers(1, 400), st.sampled_from(["Quern", "Pound", "Saddler's"]), st.sampled_from(STREETS)
)
# Q, V and X begin no postcode that was given.
postcodes = st.builds(
    "{}{}{} {}{}{}".format, st.sampled_from("QVX"), letters.filter(lambda one: one not in "IZ"), st.integers(1, 99),
    st.integers(1, 9), letters, letters,
)  # fmt: skip
# Ofcom keeps these for fiction.
AREAS = ["01632 960", "07700 900", "020 7946 0", "(01632) 960 ", "+44 1632 960", "01632960"]
phones = st.builds("{}{:03d}".format, st.sampled_from(AREAS), st.integers(0, 999))


def page(*lines: str, noise: int | None = None) -> Page:
    drawn = layouts.page_of("\n".join(lines))
    return drawn if noise is None else layouts.noisy(drawn, noise)


def leaked(some: Page, *words: str) -> list[str]:
    kept = [layouts.folded(one.words) for one in private_words([some])]
    return [one for one in words if not any(layouts.folded(one) in stretch for stretch in kept)]


noises = st.none() | st.integers(0, 10**6)


@given(st.sampled_from(NAME_LABELS), names, noises)
@settings(max_examples=300, deadline=None)
def test_a_name_beside_its_label_is_kept_back(label: str, name: str, noise: int | None) -> None:
    assert leaked(page(f"{label}: {name}", noise=noise), name) == []
    assert leaked(page(f"{label}       {name}", noise=noise), name) == []
    assert leaked(page(f"{label}", f"{name}", noise=noise), name) == []


@given(
    titled | full,
    st.sampled_from(["bought from {} in 1987", "{} drove it", "the car of {}, who kept it", "{}"]),
    noises,
)
@settings(max_examples=300, deadline=None)
def test_a_name_with_a_title_or_a_first_name_is_kept_back_anywhere(name: str, form: str, noise: int | None) -> None:
    some = page("SERVICE RECORD", form.format(name), noise=noise)
    assert leaked(some, name) == []


@given(
    st.tuples(names, streets, st.sampled_from(TOWNS), postcodes),
    st.sampled_from(["", "Bill to", "Registered keeper", "To"]),
    noises,
)
@settings(max_examples=300, deadline=None)
def test_every_line_of_an_address_is_kept_back(block: tuple[str, ...], label: str, noise: int | None) -> None:
    lines = list(block)
    assert leaked(page("INVOICE 17", "", label, *lines, noise=noise), *lines) == []
    assert leaked(page("INVOICE 17", "", ", ".join(lines), noise=noise), *lines) == []


@given(phones, st.sampled_from(["Tel: {}", "ring {} after six", "{}", "Mobile      {}", "T {}"]), noises)
@settings(max_examples=200, deadline=None)
def test_a_telephone_number_is_kept_back(phone: str, form: str, noise: int | None) -> None:
    assert leaked(page(form.format(phone), noise=noise), phone) == []


@given(
    st.text(string.ascii_lowercase + string.digits + "._-", min_size=1).filter(str.isalnum),
    st.sampled_from(["com", "org", "net"]),
)
def test_an_address_of_mail_is_kept_back(local: str, end: str) -> None:
    assert leaked(page(f"write to {local}@example.{end} soon"), f"{local}@example.{end}") == []


@pytest.mark.parametrize("region", ["GB", "IE", "DE", "FR", "US"])
@pytest.mark.parametrize("kind", [phonenumbers.PhoneNumberType.FIXED_LINE, phonenumbers.PhoneNumberType.MOBILE])
@pytest.mark.parametrize(
    "form", [phonenumbers.PhoneNumberFormat.NATIONAL, phonenumbers.PhoneNumberFormat.INTERNATIONAL]
)
def test_example_numbers_of_phonenumbers_are_kept_back(region: str, kind: int, form: int) -> None:
    number = phonenumbers.format_number(phonenumbers.example_number_for_type(region, kind), form)
    assert leaked(page(f"ring {number} any time"), number) == []


def test_a_name_that_was_told_once_is_found_wherever_it_comes_again() -> None:
    some = page("Registered keeper: Mr W Thorncroft", "", "", "the Thorncroft car, Thorncroft's own")
    assert [one.words for one in private_words([some])] == ["Mr W Thorncroft", "Thorncroft", "Thorncroft's"]


def test_firms_are_told_and_their_address_is_private_unless_it_is_the_houses() -> None:
    some = page("Halloran & Pike Ltd", "The Old Forge, Little Wending", "ZE9 4XR", "Tel 01632 960123")
    kept = [one.words for one in private_words([some])]
    assert kept == ["The Old Forge, Little Wending", "ZE9 4XR", "01632 960123"]
    house = ("Halloran & Pike Ltd", "The Old Forge", "The Old Forge, Little Wending", "ZE9 4XR", "01632 960 123")
    assert private_words([some], house=house) == ()


def test_a_town_in_common_with_the_house_is_kept_back_beside_a_customer() -> None:
    house = ("The Old Forge", "Little Wending")
    some = page("The Old Forge", "Little Wending", "", "", "Bill to", "Mr W Garside", "7 Quern Lane", "Little Wending")
    kept = [one.words for one in private_words([some], house=house)]
    assert kept == ["Mr W Garside", "7 Quern Lane", "Little Wending"]


@pytest.mark.parametrize("name", ["W Garside", "W & J Garside", "W H GARSIDE", "W.H.Garside"])
def test_initials_make_a_name(name: str) -> None:
    assert leaked(page("INVOICE", f"work done for {name} in March"), name) == []


def test_a_name_below_its_label_is_kept_back_whatever_stands_in_the_next_column() -> None:
    assert leaked(page("Bill to                INVOICE 17", "Thorncroft             4 pages"), "Thorncroft") == []


def test_somebody_care_of_a_firm_is_kept_back() -> None:
    assert leaked(page("INVOICE", "", "Thorncroft", "c/o Pike Garage", "7 Quern Lane", "ZE9 4XQ"), "Thorncroft") == []
    assert leaked(page("Customer: Thorncroft, c/o Pike Garage"), "Thorncroft") == []
    assert leaked(page("Thomas Vane, Station Road, Tarn"), "Thomas Vane") == []


def test_a_stretch_covers_the_whole_line_it_stands_in() -> None:
    box = Box(0.1, 0.2, 0.6, 0.02)
    (kept,) = private_words([Page(3, (Line("Service done for Mr W Garside today", box),))])
    assert (kept.page, kept.box, kept.kind, kept.words) == (3, box, ReadKind.NAME, "Mr W Garside")


def test_what_is_kept_back_is_proposed_too_so_that_a_person_sees_it() -> None:
    some = page("Registered keeper", "Mr W Garside", "7 Quern Lane", "Little Wending", "ZE9 4XQ")
    paper = tell_paper([some], known=Known(layouts.TODAY))
    told = [(one.kind, one.role, one.words) for one in paper.proposals if one.kind in PRIVATE]
    assert told == [
        (ReadKind.NAME, "keeper", "Mr W Garside"),
        (ReadKind.ADDRESS, "keeper", "7 Quern Lane, Little Wending, ZE9 4XQ"),
    ]


@pytest.mark.parametrize(
    "words",
    [
        "British Racing Green", "Supply and fit clutch kit", "Harbottle & Pike Ltd", "Front brake pads worn",
        "SELWYN TOURER", "Service due at 48,000 miles", "Total £410.00", "Date of first registration 04/03/1970",
        "175/70 R13 82T", "Chassis No. GAHN5/4711L", "MOT test number 1234 5678 9012", "Oil filter 7.49",
        "Registration mark FGY 412H", "Part number 88G 4711", "Owner's handbook and spare keys",
        "O Ring, two", "L H Front wing", "E Type", "A Test",
    ],
)  # fmt: skip
def test_plain_words_of_the_trade_go_out(words: str) -> None:
    assert private_words([page("INVOICE", words)]) == ()
