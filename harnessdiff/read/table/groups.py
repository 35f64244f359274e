"""Circuits and zones as a table names them: found again by name, or added."""

from __future__ import annotations

from typing import Any

from harnessdiff.read.table.guesses import function_of_words, functions, near_functions, only_one, slug
from harnessdiff.read.table.questions import Asking

LONGEST_NAME = 100
MOST_PLACES_NAMED = 4


class Groups:
    """The circuits and zones of a document in the making."""

    def __init__(self, asking: Asking, document: dict[str, Any]) -> None:
        self.asking = asking
        self.document = document

    def circuit(self, text: str) -> str:
        """Id of the circuit that is called so; a new one is added."""
        for entry in self.document["circuits"]:
            if text.lower() in (entry["id"].lower(), entry["name"].lower()):
                return str(entry["id"])
        word = slug(text)
        own = f"C_{word.removeprefix('C_')}"
        if any(entry["id"] == own for entry in self.document["circuits"]):
            return own
        function = word.lower().removeprefix("c_")
        if function not in functions():
            usual = function_of_words(text)
            such = f", such as {' or '.join(near)}" if (near := near_functions(text)) else ""
            question = "what the circuit does" + ("" if usual else f"{such}; one of: {', '.join(functions())}")
            function = self.asking.ask(own, "function", question, assume=usual) or "other"
            function = function.lower().replace(" ", "_")
            function = function if function in functions() else function_of_words(function) or function
            if function not in functions():
                self.asking.refuse((own, "function"), f"{function} is no function; one of: {', '.join(functions())}")
                function = "other"
        self.document["circuits"].append({"id": own, "name": text, "function": function})
        return own

    def zone(self, text: str) -> str:
        """Id of the zone that is called so; a new one is added."""
        for entry in self.document["zones"]:
            names = (entry["id"].lower(), entry["name"].lower())
            if text.lower() in names or f"z_{text.lower()}" == names[0]:
                return str(entry["id"])
        own = f"Z_{slug(text).removeprefix('Z_')}"
        if all(entry["id"] != own for entry in self.document["zones"]):
            minutes = self.asking.offered_number(own, "access_min", "minutes to get to see it, such as 10")
            zone: dict[str, Any] = {"id": own, "name": text}
            self.document["zones"].append(zone | ({"access_min": minutes} if minutes else {}))
        return own

    def name_of_zone(self, own: str) -> str:
        """What a zone is called."""
        return next((str(entry["name"]) for entry in self.document["zones"] if entry["id"] == own), "")

    def place(self, own: str, zones: list[str], *, needed: bool = True) -> dict[str, str]:
        """The zone of a thing, assumed where all wires that come to it tell the same."""
        assume = self.name_of_zone(only_one(zones))
        if not (needed or assume):
            answer = self.asking.offered(own, "zone", "where it sits")
        else:
            names = [self.name_of_zone(one) for one in dict.fromkeys(zones)][:MOST_PLACES_NAMED] or ["dash"]
            such = f"where it sits, such as {' or '.join(names)}"
            answer = self.asking.ask(own, "zone", "where it sits" if assume else such, assume=assume)
        if answer and (not slug(answer) or len(answer) > LONGEST_NAME):
            self.asking.refuse((own, "zone"), f"{answer} is no name of a place")
            return {}
        return {"zone": self.zone(answer)} if answer else {}
