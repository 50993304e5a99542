"""Facts that are words: body, gearbox, power source, drive, origin, tax."""

from __future__ import annotations

from functools import cache

from shutline.remarks.fact_colour import ColourFacts, colour_words
from shutline.remarks.fact_data import fact_data
from shutline.remarks.tokens import FULL_STOP, structure_words

_KINDS = {
    "manual": "gearbox",
    "automatic": "gearbox",
    "auto": "gearbox",
    "petrol": "power",
    "diesel": "power",
    "electric": "power",
    "electricity": "power",
    "battery": "power",
    "drive": "drive",
    "driven": "drive",
    "hooker": "drive",
    "hander": "drive",
    "wheel": "drive",
    "steering": "drive",
    "sits": "drive",
    "sit": "drive",
    "pedals": "drive",
    "driver": "drive",
    "lefty": "drive",
    "couple": "keys",
    "single": "keys",
    "spare": "keys",
    "exempt": "tax",
    "tax": "tax",
    "taxed": "tax",
    "duty": "tax",
    "historic": "tax",
    "both": "keys",
    "pair": "keys",
    "colour": "colour_name",
    "hybrid": "power",
    "lpg": "power",
    "lhd": "drive",
    "rhd": "drive",
    "new": "from_new",
    "litre": "litre",
}


_HANDS = {"left": "lhd", "right": "rhd", "lefthand": "lhd", "righthand": "rhd"}
_BODY_LEADS = {"the": "body-the", "this": "body-the", "our": "body-the", "a": "body-a", "an": "body-a"}


@cache
def hooks() -> dict[str, tuple[str, ...]]:
    """Give, for each word that may begin a fact, the searches to start there."""
    out: dict[str, tuple[str, ...]] = {word: (kind,) for word, kind in _KINDS.items()}
    for kind, words in (
        ("colour", colour_words()),
        ("month", fact_data()["months"]),
        ("body", {name.split()[0] for name in fact_data()["bodies"]}),
        ("origin", {name.split()[0] for name in fact_data()["countries"]}),
        ("native", fact_data()["natives"]),
        ("power", fact_data()["cues"]["electric_gear"]),
        ("imported", fact_data()["cues"]["imported"]),
    ):
        for word in words:
            out[word] = (*out.get(word, ()), kind)
    return out


def _body_rule(name: str, body: str, before: list[str], *, listed: bool) -> str:
    lead = before[0] if before else ""
    rule = "body-listed" if listed else _BODY_LEADS.get(lead, "body-word")
    if body == "van":
        rule = "body-a-van" if lead in ("their", "his", "a", "like", "another") and not listed else f"{rule}-van"
    if name in ("tourer", "spider", "traveller", "wagon"):
        return f"{rule}-unsure"
    return f"{rule}-rare" if body in fact_data()["rare_bodies"] else rule


class WordFacts(ColourFacts):
    """Asks each word what it may tell of the whole car."""

    def body(self, at: int) -> None:
        """Note the kind of body, unless the word is of some other vehicle: 'a seat from a van'."""
        bodies: dict[str, str] = fact_data()["bodies"]
        name, end = self._longest(at, bodies)
        if not name or (self.out and self.out[-1].name == "body" and at < self.out[-1].end):
            return
        before = self.before(at, 4)
        listed = self.ends(end) and self.ends(at)
        if not self._of_another(name, at, end, before):
            self.add("body", bodies[name], (at, end), _body_rule(name, bodies[name], before, listed=listed))

    def _longest(self, at: int, names: dict[str, str]) -> tuple[str, int]:
        """Give the longest name that begins at a token, and its end; no mark stands inside it."""
        for width in (3, 2, 1):
            words = " ".join(self.norm[at : at + width])
            if at + width <= self.size and words in names and not any(self.mark[at + 1 : at + width]):
                return words, at + width
        return "", at

    def _of_another(self, name: str, at: int, end: int, before: list[str]) -> bool:
        """Tell whether a body word is said of something else: another vehicle, such cars, somebody's land."""
        bodies: dict[str, str] = fact_data()["bodies"]
        lead, ends = before[0] if before else "", self.ends(end)
        follow = self.follows(end - 1)
        longer = follow in bodies and bodies[follow] != bodies[name]
        land = self.cues["land"] & {*before[1:2], *(before[2:3] if before[1:2] == ["the"] else ())}
        return bool(
            (not ends and (longer or follow in self.cues["not_body_follows"]))
            or self.cues["other_vehicle"] & set(before[:3])
            or before[:2] == ["a", "from"]
            or lead == "any"
            or before[:3] == ["a", "'s", "there"]
            or (name == "open one" and lead != "the")
            or (name == "estate" and land)
            or (name in ("spider", "spyder") and not (ends and self.ends(at)))
            or (lead in ("a", "an") and self.mark[at - 1] >= FULL_STOP and not ends)
        )

    def litre(self, at: int) -> None:
        """Note 'a litre and a half'."""
        after = self.after(at + 1, 3)
        if after[:2] == ["and", "a"] and after[2:] in (["half"], ["quarter"]) and self.leads(at) == "a":
            size = 1500 if after[2] == "half" else 1250
            self.add("engine_cc", size, (at - 1, at + 4), "number-litre")

    def gearbox(self, at: int) -> None:
        """Note manual or automatic; a workshop manual and an automatic choke are neither."""
        word, follows, cues = self.norm[at], self.follows(at), self.cues
        end = self.ends(at + 1)
        if word == "manual":
            if follows in cues["manual_follows"] and not end:
                self.add("gearbox", "manual", (at, at + 1), "gearbox-box")
            elif not (
                cues["not_manual_before"] & set(self.before(at, 3)) or self.leads(at) in ("'s", "the", "no")
            ) and (end or follows not in cues["not_manual"]):
                self.add("gearbox", "manual", (at, at + 1), "gearbox-word")
        elif follows in cues["not_automatic_follows"] and not end:
            return
        elif not cues["not_automatic_before"] & set(self.before(at, 3)):
            self.add("gearbox", "automatic", (at, at + 1), "gearbox-word")

    def power(self, at: int) -> None:
        """Note what drives the car; a petrol tank and an electric window tell nothing."""
        word = self.norm[at]
        if word in ("electric", "electricity", "battery"):
            self._electric(at)
        elif word in self.cues["electric_gear"]:
            self.add("power_source", "electric", (at, at + 1), "electric-gear")
        elif word in ("hybrid", "lpg"):
            self.add("power_source", word, (at, at + 1), "power-named")
        else:
            self._fuel(at)

    def _electric(self, at: int) -> None:
        word, follows, before = self.norm[at], self.follows(at), self.before(at, 6)
        rule = ""
        if word == "battery":
            rule = "converted-to-electric" if before[:2] == ["to", "converted"] else ""
        elif {"converted", "conversion", "went", "gone"} & set(before):
            rule = "converted-to-electric"
        elif before[:1] == ["battery"] or (follows in self.cues["electric_follows"] and not self.ends(at + 1)):
            rule = "electric-motor"
        elif (
            word == "electric"
            and {"all", "fully", "been", "she", "it"} & set(before[:3])
            and self.cues["being"] & set(before[:1])
        ):
            rule = "it-is-electric" if before[:2] == ["'s", "it"] and "now" not in before else "she-is-electric"
        if rule:
            self.add("power_source", "electric", (at, at + 1), rule)

    def _fuel(self, at: int) -> None:
        follows, cues, ends, before = self.follows(at), self.cues, self.ends(at + 1), self.before(at, 3)
        engine = not ends and follows in ("engine", "motor", "four", "six", "three") and "the" not in before[:1]
        runs = before[:2] in (["on", "runs"], ["on", "run"], ["on", "running"])
        led = (cues["not_fuel_before"] & set(before[:2]) and not runs) or (
            before[:1] in (["the"], ["a"], ["of"]) and before not in (["a", "'s", "it"], ["a", "'s", "she"])
        )
        if not engine and ((not ends and follows in cues["not_fuel_follows"]) or led):
            return
        stand = self.stand(at, at + 1) or ("ends" if ends else "word")
        self.add("power_source", self.norm[at], (at, at + 1), "power-engine" if engine else f"power-{stand}")

    def drive(self, at: int) -> None:
        """Note on which side the wheel is."""
        norm, word, lead = self.norm, self.norm[at], self.leads(at)
        side = _HANDS.get(norm[at - 2], "") if word in ("drive", "driven") and lead == "hand" and at > 1 else ""
        if side:
            self.add("drive", side, (at - 2, at + 1), "hand-drive")
        elif word in ("drive", "driven", "hooker", "hander") and lead in _HANDS:
            if not word.startswith("drive") or lead.endswith("hand"):
                self.add("drive", _HANDS[lead], (at - 1, at + 1), "hand-drive")
        elif word in ("lhd", "rhd", "lefty"):
            self.add("drive", "rhd" if word == "rhd" else "lhd", (at, at + 1), "hand-drive")
        elif word not in ("drive", "driven", "hooker", "hander"):
            self._wheel(at)

    def _wheel(self, at: int) -> None:
        """Note where the steering wheel or the driver is said to be."""
        word, lead = self.norm[at], self.leads(at)
        near = f" {' '.join(self.after(at + 1, 9))} "
        if word == "driver":
            told = near.startswith((" 's on the left ", " is on the left "))
        elif word == "wheel":
            told = lead not in self.cues["road_wheels"]
        else:
            told = lead in {"sits": ("driver",), "sit": ("i", "you", "we")}.get(word, (lead,))
        steered = "steering" in (word, lead)
        if told and (" on the left " in near or (steered and " on the wrong side " in near)):
            self.add("drive", "lhd", (at, at + 1), "wheel-on-the-left")
        elif told and steered and " on the right " in near:
            self.add("drive", "rhd", (at, at + 1), "wheel-on-the-right")

    def tax(self, at: int) -> None:
        """Note that no road tax is to be paid, or that it is."""
        word, before, after = self.norm[at], self.before(at, 5), self.after(at + 1, 6)
        rule = ""
        if word == "exempt":
            near = {*before, *after}
            rule = "tax-exempt" if {"tax", "ved", "duty"} & near else "exempt"
            if rule == "exempt" and {"mot", "test", "testing", "ulez"} & near:
                return
        elif word in ("tax", "duty"):
            led = before[:2] in (["road", "no"], ["excise", "no"]) or before[:1] in (
                ["no"],
                ["free"],
                ["zero"],
                ["nil"],
            )
            if (
                led
                or self.follows(at) == "free"
                or after[:2] in (["nothing"], ["is", "nothing"], ["be", "nothing"])
                or (set(before) & {"n't", "not"} and set(before) & {"pay", "paying"})
                or before[:3] == ["for", "rate", "nil"]
                or after[:1] in (["none"], ["nil"], ["nowt"])
            ):
                rule = "no-tax"
        elif word == "taxed":
            rule = "no-tax" if after[:2] == ["for", "nothing"] else ""
        elif {"tax", "class", "vehicle"} & set(after[:4]):
            rule = "historic"
        if rule:
            denied = word == "exempt" and bool({"n't", "not"} & set(before[:4]))
            self.add("tax_exempt", not denied, (at, at + 1), rule)

    def origin(self, at: int) -> None:
        """Note the country a car came in from: 'imported from Portugal', not 'a tool from Germany'."""
        countries: dict[str, str] = fact_data()["countries"]
        name, end = self._longest(at, countries)
        before = self.before(at, 8)
        if not name or (name == "states" and before[:1] != ["the"]):
            return
        while before and before[0] in ("the", "sunny", "southern", "northern"):
            before = before[1:]
        lead, came = before[0] if before else "", self.cues["came_from"] & set(before)
        if before[1:2] and before[1] in ("are", "parts", "part", "bits", "tyres"):
            return
        if self.follows(end - 1) == "import" and not self.ends(end):
            rule = "import"
        elif lead == "ex":
            rule = "came-from"
        elif lead in ("from", "of") and came:
            rule = "came-from-man" if {"chap", "bloke", "man", "fella", "part", "parts"} & set(before) else "came-from"
        elif lead == "in" and came & self.cues["lived"]:
            rule = "lived-in"
        elif lead in ("from", "in"):
            rule = f"{lead}-country"
        else:
            return
        self.add("origin", countries[name], (at, end), rule)

    def imported(self, at: int) -> None:
        """Note a country no list has, said right after 'imported from'."""
        name = at + 2
        if self.follows(at) != "from" or name >= self.size or self.mark[name] or not self.ends(name + 1):
            return
        word = self.norm[name]
        if word.isalpha() and word not in structure_words() and word not in fact_data()["countries"]:
            self.add("origin", word.capitalize(), (name, name + 1), "imported-from-a-name")

    def native(self, at: int) -> None:
        """Note a car said to be of a country: 'she's French', 'a Belgian car'."""
        country = fact_data()["natives"][self.norm[at]]
        before, follow = self.before(at, 3), self.follows(at)
        being = (
            before[:1] and before[0] in self.cues["being"] and {"she", "it", "he", "this", "always"} & set(before[1:])
        )
        if (being and self.ends(at + 1)) or (follow in self.cues["native_things"] and not self.ends(at + 1)):
            self.add("origin", country, (at, at + 1), "native")
