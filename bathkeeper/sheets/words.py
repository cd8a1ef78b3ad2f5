"""Words that people write over the columns of their notes, and in the column that says what a row is about.

English, and the words of the trade in German, French, Spanish and Italian [memory: general words, no list was read]. What is
not among them is told as not taken; a person names it then.
"""

from __future__ import annotations

import re

DATE = ("date", "day", "when", "datum", "tag", "jour", "fecha", "data")
TIME = ("time", "clock", "hour", "at", "start", "started", "time of day", "uhrzeit", "zeit", "heure", "hora", "ora")
TANK = ("tank", "bath", "vessel", "station", "which tank", "which bath", "bad", "becken", "wanne", "bain", "cuve", "baño",
        "tanque", "bagno", "vasca")  # fmt: skip
KIND = ("what", "kind", "type", "event", "action", "activity", "entry", "what was done", "done", "was", "art", "vorgang",
        "quoi", "qué", "cosa")  # fmt: skip
BY = ("by", "who", "operator", "initials", "keeper", "wer", "name", "kürzel", "qui", "quién", "chi")
NOTES = ("note", "notes", "remark", "remarks", "comment", "comments", "observation", "observations", "memo", "bemerkung",
         "bemerkungen", "notiz", "notizen", "remarque", "remarques", "nota", "notas", "observaciones",
         "osservazioni")  # fmt: skip
RUN = {
    "description": ("job", "part", "parts", "load", "item", "items", "work", "pieces plated", "what was plated", "description",
                    "teile", "teil", "auftrag", "ware", "charge nr", "pièces", "piezas", "pezzi"),
    "count": ("count", "qty", "quantity", "pcs", "pieces", "how many", "number of parts", "anzahl", "stück", "menge", "nombre",
              "cantidad", "quantità"),
    "area": ("area", "surface", "surface area", "load area", "fläche", "oberfläche", "surface totale", "superficie"),
    "current": ("amps", "current", "a", "ampere", "amperes", "plating current", "strom", "stromstärke", "courant", "corriente",
                "corrente", "intensité"),
    "charge": ("ah", "amp hours", "ampere hours", "amphours", "charge", "amperestunden"),
    "minutes": ("min", "mins", "minutes", "duration", "plating time", "time", "hours", "time in", "stay", "dauer", "zeit",
                "badzeit", "minuten", "durée", "duración", "tiempo", "durata", "tempo"),
    "result": ("result", "outcome", "ok", "how it came out", "ergebnis", "résultat", "resultado", "risultato"),
    "defect": ("defect", "fault", "fehler", "défaut", "defecto", "difetto"),
    "rejects": ("rejects", "reject", "scrap", "redo", "ausschuss", "rebut", "rechazos", "scarti"),
    "supply": ("supply", "rectifier", "power supply", "gleichrichter", "netzgerät", "redresseur", "rectificador"),
}  # fmt: skip
SAY_UNIT = {
    **dict.fromkeys(("amps", "a", "ampere", "amperes"), "A"),
    **dict.fromkeys(("ah", "amp hours", "ampere hours", "amphours"), "Ah"),
    **dict.fromkeys(("min", "mins", "minutes", "minuten"), "min"),
}
"""Headings of a run that say their unit themselves; of others, such as `time`, it is asked."""
ADDED = re.compile(
    r"^(?:added?|zugabe|zugegeben|ajout|additions?|dosed?|top(?:ped)?[ -]?up(?: with)?|\+)\b[:\s-]*", re.IGNORECASE
)
REAGENT = ("reagent", "chemical", "what was added", "added what", "added", "addition", "substance", "chemikalie", "zusatz",
           "zugabe", "produit", "ajout", "producto")  # fmt: skip
AMOUNT = ("amount", "how much", "quantity", "dose")
UNIT = ("unit", "units")
OUT = ("taken out", "removed", "bailed out", "bail-out", "removal", "drained")
FILLED = ("make-up", "makeup", "make up", "new bath", "filled", "fresh bath", "bath volume", "filled fresh")
WATER = ("water", "topped up", "top up", "top-up", "wasser", "eau", "agua", "acqua")
KIND_WORDS: dict[str, tuple[str, ...]] = {
    "run": ("run", "plating", "plated", "load", "job", "batch", "plate"),
    "reading": ("reading", "analysis", "test", "measured", "measurement", "titration", "check", "lab"),
    "addition": ("addition", "added", "dose", "dosed", "top-up", "top up", "topped up", "correction"),
    "make_up": ("make-up", "make up", "makeup", "new bath", "fresh", "filled", "filled fresh"),
    "removal": ("removal", "taken out", "removed", "bailed out", "dumped", "drained"),
    "anode": ("anode", "anodes", "anode weighed", "weighed"),
    "treatment": ("treatment", "carbon", "filtered", "dummy"),
    "remark": ("note", "remark", "notes"),
}
